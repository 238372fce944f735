"""What snapshots have in common: pieces of a surface's record as plain data, whoever reads them.

What an audience may not read is left out when a piece is made, so it is None, empty or not in the list; the pieces
do not say which.
"""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from core.calc.file_kinds import MediaType
from core.calc.paving import CleaningMethod, SurfaceType
from maintenance.calc.decline import DeclineRecord
from maintenance.calc.forecast_payload import GainOfCleaning
from maintenance.calc.vocabulary import Action, RecommendationStatus, RecordKind, SurfaceState
from planning.calc.vocabulary import ApprovalState
from qa.calc.acceptance import Judgement
from qa.calc.buildups import LayerKind
from qa.calc.counts import Zone
from qa.calc.inspections import FindingState
from reporting.calc.values import BoundedRate, Money, UnitText


@dataclass(frozen=True, slots=True)
class Standing:
    """What a surface is, and how it stands on the day that it is at its site.

    rate_now_mm_h, below_50_on: of the forecast, None while there is none; the day also where it lies beyond ten years.
    """

    key: UUID
    name: str
    site: str
    site_key: UUID
    surface_type: SurfaceType
    area_m2: float
    opened_on: date
    opens_later: bool
    removed_on: date | None
    limit_mm_h: float
    state: SurfaceState
    rate_now_mm_h: float | None
    below_50_on: date | None
    today: date

    @property
    def title(self) -> str:
        """Its name with that of its site."""
        return f"{self.name}, {self.site}"


@dataclass(frozen=True, slots=True)
class StateCount:
    """How many surfaces stand so."""

    state: SurfaceState
    count: int


@dataclass(frozen=True, slots=True)
class AskedRate:
    """A rate that is asked of a surface, and why. reason: None where only its source was kept. brief: by what.

    source: what the reason has not named of it; citation: all of it. unverified: the document it rests on that the firm
    has not verified.
    """

    rate_mm_h: float
    source: str
    reason: UnitText | None = None
    brief: UnitText | None = None
    citation: str = ""
    unverified: str = ""


@dataclass(frozen=True, slots=True)
class VerdictPart:
    """What a round says to the acceptance rate."""

    judgement: Judgement
    reason: UnitText
    round_key: UUID
    on: date


@dataclass(frozen=True, slots=True)
class AcceptancePart:
    """What is asked of the new surface, and what its latest acceptance round says."""

    asked: AskedRate | None
    verdict: VerdictPart | None


@dataclass(frozen=True, slots=True)
class DeclinePart:
    """The decline of a surface and its forecast: in words, against its kind, and what the chart is drawn from."""

    title: str
    summary: UnitText
    kind: str
    record: DeclineRecord


@dataclass(frozen=True, slots=True)
class ForecastPart:
    """The forecast in figures, with its curves."""

    rate_now_mm_h: float | None
    rate_low_mm_h: float | None
    rate_high_mm_h: float | None
    share_below_now: float | None
    below_10_on: date | None
    below_50_on: date | None
    below_90_on: date | None
    decline: DeclinePart | None


@dataclass(frozen=True, slots=True)
class AdvicePart:
    """Something that should be done. reasons: the deciding one first.

    released_on: the day its owner was shown it, None where that is still to come; release_key: of what was shown
    is_as_released: whether it says what was released rather than what is advised now; differs: whether that is
    materially another by now, told to the firm alone
    approval: whether its owner approved a quote for it, or has to; told to the firm alone
    action: what kind of work it is, None in documents kept before that was part of them
    """

    key: UUID
    title: str
    due_on: date
    reasons: tuple[UnitText, ...]
    status: RecommendationStatus
    cost: Money | None
    surface: Standing
    released_on: date | None = None
    release_key: UUID | None = None
    is_as_released: bool = False
    differs: bool = False
    approval: ApprovalState = ApprovalState.NONE
    action: Action | None = None

    @property
    def why(self) -> UnitText | None:
        """The deciding reason."""
        return self.reasons[0] if self.reasons else None

    @property
    def is_decided(self) -> bool:
        """Whether the firm has taken it up."""
        return self.status is RecommendationStatus.PLANNED

    @property
    def is_put_off(self) -> bool:
        """Whether the firm has it wait for a day, which an owner who was shown it need not know."""
        return self.status is RecommendationStatus.PUT_OFF and not self.is_as_released


@dataclass(frozen=True, slots=True)
class OptionPart:
    """What one way of cleaning would give. cost_per_year: of a year within the limit, None where it stays below."""

    method: CleaningMethod
    rate_after_mm_h: float
    years_until_limit: float | None
    share_staying_above: float
    cost: Money | None
    cost_per_year: Money | None


@dataclass(frozen=True, slots=True)
class FilePart:
    """A photo, a video or a PDF; it is kept under its key and never erased. set_aside: why, where it was."""

    key: UUID
    what: str
    is_photo: bool
    media_type: MediaType
    location_kept: bool
    is_active: bool = True
    set_aside: str = ""
    is_video: bool = False


@dataclass(frozen=True, slots=True)
class FindingPart:
    """What an inspection found wrong, and what became of it.

    place: where, how deep, and where it comes from. done: what was done, or why it was set aside; done_on: when.
    """

    key: UUID
    item: str
    what: str
    place: UnitText
    severity: str
    advice: str
    due_on: date
    state: FindingState
    state_word: str
    done: str = ""
    done_on: date | None = None
    done_by: str = ""
    files: tuple[FilePart, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether it is still work."""
        return self.state is FindingState.OPEN


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One line of a surface's record: a round with what its tests say, a cleaning with how it was done, an inspection.

    detail: how an inspection came out, or what was found and done about a source of sediment; remarks: its well and
    how snow is dealt with.

    by: who recorded it, empty where the reader may not know. is_active: whether results use it. left_out: tests of a
    round that do not count.
    """

    key: UUID
    kind: RecordKind
    on: date
    by: str
    title: str
    is_active: bool
    state_word: str
    state_reason: str
    spots: int = 0
    mean_mm_h: float | None = None
    bounded: bool = False
    method: str = ""
    others: tuple[str, ...] = ()
    left_out: int = 0
    share_of_area: float = 1.0
    wetness: str = ""
    cost: Money | None = None
    details: tuple[UnitText, ...] = ()
    gain: GainOfCleaning | None = None
    detail: str = ""
    remarks: tuple[str, ...] = ()
    findings: tuple[FindingPart, ...] = ()

    @property
    def is_round(self) -> bool:
        """Whether it tells of tests."""
        return self.kind is RecordKind.ROUND

    @property
    def is_inspection(self) -> bool:
        """Whether it tells of an inspection."""
        return self.kind is RecordKind.INSPECTION

    @property
    def is_source(self) -> bool:
        """Whether it tells of a change of what washes fines on to it."""
        return self.kind is RecordKind.SOURCE

    @property
    def mark(self) -> str:
        """Which mark stands before it: test, cleaning, inspection, source or aside."""
        if not self.is_active:
            return "aside"
        return "test" if self.is_round else self.kind.value


@dataclass(frozen=True, slots=True)
class LayerPart:
    """One layer of the build-up, from the top down."""

    kind: LayerKind
    material: str
    thickness_mm: float | None
    stone_min_mm: float | None
    stone_max_mm: float | None
    porosity: float | None


@dataclass(frozen=True, slots=True)
class BuildUpPart:
    """What the cross-section is drawn from. stored_below_mm: water kept below the overflow, where that is known.

    seed: which stones are drawn, so that it looks the same again.
    """

    surface_type: SurfaceType
    layers: tuple[LayerPart, ...]
    joint_width_mm: float | None
    overflow_invert_mm: float | None
    overflow_diameter_mm: float | None
    stored_below_mm: float | None
    seed: int


@dataclass(frozen=True, slots=True)
class SpotPart:
    """A test location. x, y: metres in the outline's own axes, where it was placed; last: what the ring read there."""

    label: str
    zone: Zone
    description: str
    x_m: float | None
    y_m: float | None
    last: BoundedRate | None


@dataclass(frozen=True, slots=True)
class PlanPart:
    """What the plan of a surface is drawn from: corners in metres, sides that take run-on, the low point.

    problem: why there is none of them, where an outline is stored that cannot be read.
    """

    corners: tuple[tuple[float, float], ...] = ()
    run_on_sides: tuple[int, ...] = ()
    low_point: tuple[float, float] | None = None
    laid_of_units: bool = False
    problem: str = ""


@dataclass(frozen=True, slots=True)
class AgreementPart:
    """What the owner bought."""

    tests_per_year: float
    cleanings_per_year: float
    price_per_year: Money | None = None
    since: date | None = None
    until: date | None = None
