"""What the pages and documents of this app show, as typed plain data made for one audience.

A snapshot is gathered once (`reporting.selectors`), with what its audience may not read left out, and then only
rendered: as a page, as a paper, and, of kept ones, again years later (`reporting.selectors.kept`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import ClassVar
from uuid import UUID

from accounts.calc.audience import Audience
from core.calc.choices import TextChoice
from core.calc.payload import Payload, Upgrade
from reporting.calc.certificate import MethodLine
from reporting.calc.coming import ComingVisit, Downloads
from reporting.calc.handing_over import SitePlanPart, TrainingPart
from reporting.calc.older_sources import sources_named
from reporting.calc.parts import (
    AcceptancePart,
    AdvicePart,
    AgreementPart,
    AskedRate,
    BuildUpPart,
    FilePart,
    FindingPart,
    ForecastPart,
    OptionPart,
    PlanPart,
    RecordLine,
    SpotPart,
    Standing,
    StateCount,
)
from reporting.calc.report_parts import AgreedPart, ReportedRound, VisitToCome, WaitingQuote, WaterPart
from reporting.calc.values import Money, UnitText, grown


class SnapshotKind(TextChoice):
    """Which documents can be kept."""

    REPORT = "report", "Report"
    HANDOVER = "handover", "Handover record"


@dataclass(frozen=True, slots=True)
class Calculation:
    """How the making of a forecast stands: whether it is being updated and why, or why it could not be made.

    is_being_made: nothing keeps it from being there soon; is_stale: because the record has changed, or the edition.
    awaits_fit: it rests on published figures alone until what was learnt from the records is learnt anew.
    """

    is_stale: bool
    of_another_edition: bool
    problem: str
    awaits_fit: bool = False
    is_being_made: bool = False


@dataclass(frozen=True, slots=True)
class Comparison:
    """What each way of cleaning would give if done on that day."""

    on: date
    options: tuple[OptionPart, ...]
    with_prices: bool


@dataclass(frozen=True, slots=True)
class SurfaceFacts:
    """Where a surface lies and what loads it. run_on_ratio: the area that drains onto it over its own."""

    traffic: str
    run_on_area_m2: float
    run_on_from: str
    run_on_ratio: float
    bare_soil: bool
    trees: bool
    winter_grit: bool
    overflow_invert_mm: float | None
    reuse_store_m3: float | None
    guarantee_ends_on: date | None

    @property
    def has_overflow(self) -> bool:
        """Whether an overflow is set above the subgrade, be it at 0 mm."""
        return self.overflow_invert_mm is not None


@dataclass(frozen=True, slots=True)
class SurfaceSnapshot:
    """The page of a surface: how it stands, what to do, what it is, and its whole record, newest first."""

    audience: Audience
    standing: Standing
    facts: SurfaceFacts
    limit: AskedRate
    acceptance: AcceptancePart
    forecast: ForecastPart | None
    calculation: Calculation | None
    remarks: tuple[UnitText, ...]
    advice: tuple[AdvicePart, ...]
    comparison: Comparison | None
    build_up: BuildUpPart
    plan: PlanPart | None
    spots: tuple[SpotPart, ...]
    files: tuple[FilePart, ...]
    record: tuple[RecordLine, ...]
    note: str
    findings: tuple[FindingPart, ...] = ()
    visits: tuple[ComingVisit, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteSnapshot:
    """The page of a site. Months by number."""

    audience: Audience
    key: UUID
    name: str
    address: str
    owner: str
    owner_key: UUID
    latitude_deg: float | None
    longitude_deg: float | None
    time_zone: str
    frost_months: tuple[int, ...]
    leaf_fall_months: tuple[int, ...]
    agreement: AgreementPart | None
    surfaces: tuple[Standing, ...]
    access_note: str
    plan: SitePlanPart | None
    trainings: tuple[TrainingPart, ...]
    visits: tuple[ComingVisit, ...] = ()
    downloads: Downloads | None = None


@dataclass(frozen=True, slots=True)
class SiteOfOwner:
    """A site with its surfaces on an owner's first page. next_visit_on: when somebody comes, None where nobody does."""

    key: UUID
    name: str
    surfaces: tuple[Standing, ...]
    next_visit_on: date | None = None


@dataclass(frozen=True, slots=True)
class StartSnapshot:
    """The first page of an owner's people: their sites, and what comes next, the most pressing first.

    today: the date where most of the surfaces lie.
    """

    audience: Audience
    today: date
    states: tuple[StateCount, ...]
    sites: tuple[SiteOfOwner, ...]
    advice: tuple[AdvicePart, ...]


@dataclass(frozen=True, slots=True)
class ReportedSurface:
    """One surface in a report: how it stands, what comes next, and what was recorded in the period.

    findings: what inspections found, whenever that was, about which nothing is done yet. rounds: of the period, with
    their tests. water: where the rain of the period went, None without a rain record.
    """

    standing: Standing
    limit: AskedRate
    acceptance: AcceptancePart
    forecast: ForecastPart | None
    advice: tuple[AdvicePart, ...]
    record: tuple[RecordLine, ...]
    build_up: BuildUpPart
    findings: tuple[FindingPart, ...] = ()
    plan: PlanPart | None = None
    spots: tuple[SpotPart, ...] = ()
    rounds: tuple[ReportedRound, ...] = ()
    water: WaterPart | None = None


@dataclass(frozen=True, slots=True)
class ReportSnapshot(Payload):
    """A site's report over a period, its last day the one it was made on. spent, ahead: each currency by itself.

    inspections_done: in the period; open_findings: of all its surfaces on the day it was made. agreed: what was agreed
    against what was done; None also in what was kept before schema 5. quotes, visits: those that await an answer, and
    those to come. methods: of the tests of the period.
    """

    SCHEMA: ClassVar[int] = 5
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType(
        {1: grown, 2: grown, 3: sources_named, 4: grown}
    )

    audience: Audience
    key: UUID
    site: str
    address: str
    owner: str
    firm: str
    since: date
    made_on: date
    agreement: AgreementPart | None
    states: tuple[StateCount, ...]
    rounds_done: int
    cleanings_done: int
    spent: tuple[Money, ...]
    ahead: tuple[Money, ...]
    surfaces: tuple[ReportedSurface, ...]
    cautions: tuple[str, ...]
    demo_notice: str
    inspections_done: int = 0
    open_findings: int = 0
    agreed: AgreedPart | None = None
    quotes: tuple[WaitingQuote, ...] = ()
    visits: tuple[VisitToCome, ...] = ()
    methods: tuple[MethodLine, ...] = ()
