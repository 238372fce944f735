"""What pages and files say of an import."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from core.calc.format import counted
from core.calc.units import UnitSystem
from core.presentation.exports import Sheet
from exchange.calc.example import column_lines, example_rows, header
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.payloads import ImportReport
from exchange.calc.problems import Remark

HEADERS = ("Sheet", "Row", "Column", "Value", "What is wrong", "What to do")
SHOWN = 100
ABOUT = (
    ("How to use this workbook",),
    ("Fill in the sheets you have records for and delete the others, with the invented example rows.",),
    ("The sheet “Columns” says what each column may hold. Order is free, and what you do not need may go.",),
    ("A unit in brackets in the header counts: [ft²], [in/h], [min]. Else the units of the import count.",),
    ("Owners, sites and surfaces are known by their names. An ID of your own lets a row be renamed later.",),
    ("One list of surfaces with the columns Owner and Site is enough: owners and sites are made from it.",),
    ("Tests lead to their round by site, surface and date; the round is made where there is none.",),
    (
        "Longer than a time: write “> 1800”. The test is then stored as still ponded, its rate as an upper bound.",
    ),
    ("Send the sheets as often as you like: what is there is not made twice, and nothing is overwritten.",),
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
        return f"{_made(report)} taken in."
    if report.problem_count:
        found = counted(report.problem_count, "problem")
        return f"{found} found. Nothing is stored: correct the sheets and send them again."
    if not report.new:
        return "Everything in these sheets is there already. Nothing is left to take in."
    return f"No problems. {_made(report)} would be taken in. Nothing is stored yet."


def _made(report: ImportReport) -> str:
    """Such as “2 owners and 40 surfaces”."""
    words = [_counted(SheetKind(c.kind), c.new) for c in report.counts if c.new]
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:]))) or "Nothing"


def _counted(kind: SheetKind, count: int) -> str:
    one = "build-up" if kind is SheetKind.LAYERS else KINDS[kind].one
    return counted(count, one)


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
    explained = ("Sheet", "Column", "Needed", "Unit", "What it may hold", "About it")
    kinds = [
        Sheet(kind.label, [header(c, system) for c in KINDS[kind].columns], example_rows(kind, system))
        for kind in SheetKind
    ]
    about = Sheet("Read me", ABOUT[0], ABOUT[1:])
    return [about, Sheet("Columns", explained, column_lines(system)), *kinds]
