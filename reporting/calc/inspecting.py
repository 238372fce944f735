"""What an inspector is shown behind a link: the tests and works of surfaces in a period, against what is asked."""

from collections import Counter
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from accounts.calc.audience import Audience
from core.calc.translation import gettext as _
from core.calc.translation import ngettext
from maintenance.calc.vocabulary import RecordKind
from qa.calc.check_progress import SETTLED, CheckStatus
from reporting.calc.parts import AskedRate, FindingPart
from reporting.calc.values import BoundedRate, UnitText


@dataclass(frozen=True, slots=True)
class InspectedLine:
    """A test round, a cleaning, an inspection or a change of source. methods: of the tests, by name.

    result: what the round says, with why. reached: whether what is asked is reached, None where that cannot be told.
    said: how the work was done, or how the inspection came out.
    """

    key: UUID
    kind: RecordKind
    on: date
    title: str
    methods: tuple[str, ...] = ()
    spots: UnitText | None = None
    mean: BoundedRate | None = None
    lowest: BoundedRate | None = None
    result: str = ""
    reason: UnitText | None = None
    reached: bool | None = None
    deviations: tuple[str, ...] = ()
    said: tuple[UnitText, ...] = ()
    findings: tuple[FindingPart, ...] = ()

    @property
    def is_round(self) -> bool:
        """Whether it tells of tests, which a certificate stands for."""
        return self.kind is RecordKind.ROUND

    @property
    def mark(self) -> str:
        """Which mark stands before it: test, cleaning, inspection or source."""
        return "test" if self.is_round else self.kind.value

    @property
    def tone(self) -> str:
        """The look of its result; its words say the same."""
        return {True: "tag--good", False: "tag--bad", None: "tag--warn"}[self.reached]


@dataclass(frozen=True, slots=True)
class InspectedSurface:
    """A surface with what is asked of it, how its construction was checked, and what was done in the period."""

    key: UUID
    site: str
    address: str
    name: str
    surface_type: str
    area_m2: float
    opened_on: date
    opens_later: bool
    removed_on: date | None
    limit: AskedRate
    asked: AskedRate | None
    construction: str
    lines: tuple[InspectedLine, ...]


@dataclass(frozen=True, slots=True)
class InspectorSnapshot:
    """The record of the sites behind a link, as it stands on the day it is opened."""

    audience: Audience
    firm: str
    since: date
    until: date
    sites: tuple[str, ...]
    surfaces: tuple[InspectedSurface, ...]
    cautions: tuple[str, ...]
    demo_notice: str

    @property
    def rounds(self) -> int:
        """How many test rounds it holds."""
        return sum(line.is_round for surface in self.surfaces for line in surface.lines)

    @property
    def cleanings(self) -> int:
        """How many cleanings it holds."""
        return sum(line.kind is RecordKind.CLEANING for surface in self.surfaces for line in surface.lines)


def construction_words(counts: Counter[CheckStatus] | None, handed_over: date | None, day: str) -> str:
    """How the checks of the construction stand, and whether the record of them was handed over. day: in words."""
    parts = [_checks(counts) if counts else _("No construction record was kept.")]
    if handed_over:
        parts.append(_("The handover record was kept on {day}.").format(day=day))
    return " ".join(parts)


def _checks(counts: Counter[CheckStatus]) -> str:
    settled, total = sum(counts[one] for one in SETTLED), counts.total()
    said = ngettext(
        "{settled} of {total} construction check are settled",
        "{settled} of {total} construction checks are settled",
        total,
    ).format(settled=settled, total=total)
    if counts[CheckStatus.WAIVED]:
        said += _(", {count} of them waived").format(count=counts[CheckStatus.WAIVED])
    if counts[CheckStatus.FAILED]:
        said += _("; {count} failed and not corrected yet").format(count=counts[CheckStatus.FAILED])
    return f"{said}."
