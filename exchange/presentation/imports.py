"""What pages and files say of an import."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, pgettext

from core.calc.format import counted
from core.calc.units import UnitSystem
from core.presentation.exports import Sheet
from exchange.calc.example import column_lines, example_rows, header
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.payloads import ImportReport
from exchange.calc.problems import Remark

HEADERS = (
    gettext_noop("Sheet"),
    gettext_noop("Row"),
    gettext_noop("Column"),
    gettext_noop("Value"),
    gettext_noop("What is wrong"),
    gettext_noop("What to do"),
)
SHOWN = 100
ABOUT = tuple(
    (line,)
    for line in (
        gettext_noop("How to use this workbook"),
        gettext_noop(
            "Fill in the sheets you have records for and delete the others, with the invented example rows."
        ),
        gettext_noop(
            "The sheet “Columns” says what each column may hold. Order is free, and what you do not need may go."
        ),
        gettext_noop(
            "A unit in brackets in the header counts: [ft²], [in/h], [min]. Else the units of the import count."
        ),
        gettext_noop(
            "Owners, sites and surfaces are known by their names. An ID of your own lets a row be renamed later."
        ),
        gettext_noop(
            "One list of surfaces with the columns Owner and Site is enough: owners and sites are made from it."
        ),
        gettext_noop(
            "Tests lead to their round by site, surface and date; the round is made where there is none."
        ),
        gettext_noop(
            "Longer than a time: write “> 1800”. The test is then stored as still ponded, its rate as an upper bound."
        ),
        gettext_noop(
            "Send the sheets as often as you like: what is there is not made twice, and nothing is overwritten."
        ),
    )
)


@dataclass(frozen=True, slots=True)
class CountLine:
    """How many rows of a kind are made, are there, and differ."""

    label: str
    new: int
    there: int
    differ: int


@dataclass(frozen=True, slots=True)
class ReportPage:
    """What a page shows of a look through the sheets."""

    counts: Sequence[CountLine]
    problems: Sequence[Remark]
    more_problems: int
    problem_count: int
    notices: Sequence[Remark]
    more_notices: int
    headline: str
    places: Sequence[tuple[str, str]]


def report_page(report: ImportReport, *, stored: bool) -> ReportPage:
    """The page of a report. stored: whether what it counts is taken in."""
    return ReportPage(
        [CountLine(SheetKind(c.kind).label, c.new, c.there, c.differ) for c in report.counts],
        report.problems[:SHOWN],
        max(0, report.problem_count - SHOWN),
        report.problem_count,
        report.notices[:SHOWN],
        max(0, report.notice_count - SHOWN),
        _headline(report, stored),
        report.places,
    )


def _headline(report: ImportReport, stored: bool) -> str:
    if stored:
        return _("{what} taken in.").format(what=_made(report))
    if report.problem_count:
        return ngettext(
            "{count} problem found. Nothing is stored: correct the sheets and send them again.",
            "{count} problems found. Nothing is stored: correct the sheets and send them again.",
            report.problem_count,
        ).format(count=report.problem_count)
    if not report.new:
        return _("Everything in these sheets is there already. Nothing is left to take in.")
    made = _made(report)
    return _("No problems. {what} would be taken in. Nothing is stored yet.").format(what=made)


def _made(report: ImportReport) -> str:
    """Such as “2 owners and 40 surfaces”."""
    words = [_COUNTED[SheetKind(c.kind)](c.new) for c in report.counts if c.new]
    if len(words) < 2:
        return words[0] if words else pgettext("of an import", "Nothing")
    return _("{several} and {last}").format(several=", ".join(words[:-1]), last=words[-1])


_COUNTED: Mapping[SheetKind, Callable[[int], str]] = MappingProxyType(
    {
        SheetKind.OWNERS: lambda count: counted(count, "owner"),
        SheetKind.SITES: lambda count: counted(count, "site"),
        SheetKind.SURFACES: lambda count: counted(count, "surface"),
        SheetKind.LAYERS: lambda count: counted(count, "build-up"),
        SheetKind.LOCATIONS: lambda count: counted(count, "test location"),
        SheetKind.ROUNDS: lambda count: counted(count, "test round"),
        SheetKind.TESTS: lambda count: counted(count, "test"),
        SheetKind.CLEANINGS: lambda count: counted(count, "cleaning"),
    }
)


def remark_headers() -> list[str]:
    """The first line of such a file."""
    return [_(header) for header in HEADERS]


def remark_rows(remarks: Iterable[Remark]) -> Iterable[tuple[str, str, str, str, str, str]]:
    """Remarks as lines of a file."""
    return (
        (r.sheet, str(r.row) if r.row else "", r.column, r.value, _sentence(r.what), r.remedy)
        for r in remarks
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def sample_sheets(system: UnitSystem) -> list[Sheet]:
    """A workbook to start from: how to use it, what the columns hold, and a sheet of each kind with invented rows."""
    explained = [_("Sheet"), _("Column"), _("Needed"), _("Unit"), _("What it may hold"), _("About it")]
    kinds = [
        Sheet(kind.label, [header(c, system) for c in KINDS[kind].columns], example_rows(kind, system))
        for kind in SheetKind
    ]
    title, *lines = ((_(text),) for (text,) in ABOUT)
    about = Sheet(_("Read me"), title, lines)
    return [about, Sheet(_("Columns"), explained, column_lines(system)), *kinds]
