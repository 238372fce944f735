"""What is sent, as it is described to programs.

Kinds and shapes are checked here; what holds for a record is checked by the same forms that people fill in.
"""

from datetime import date, datetime, time
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict, Field, model_validator

from core.calc.paving import CleaningMethod, SurfaceType, TestMethod, Traffic
from core.calc.units import UnitSystem
from maintenance.calc.vocabulary import Wetness
from qa.calc.inspections import Answer, InspectionItem, Severity
from qa.calc.ring import Ending, Seal
from qa.calc.rounds import Purpose

EARLIEST_YEAR, LATEST_YEAR = 1900, 2200
MOST_RUNS, MOST_WELL, MOST_FINDINGS = 12, 4, 30


def _of_our_time(value: datetime) -> datetime:
    if not EARLIEST_YEAR <= value.year <= LATEST_YEAR:
        raise ValueError(f"{value.isoformat()} is no time of a record. Give one between 1900 and 2200.")
    return value


Instant = Annotated[AwareDatetime, AfterValidator(_of_our_time)]
Text = Annotated[str, Field(max_length=10_000)]
Decimals = Annotated[str, Field(pattern=r"^\d{1,9}(\.\d{1,2})?$")]


class Body(BaseModel):
    """What is sent. A name that is not known is refused: a slip would otherwise be lost unseen."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)
    ANSWERED_ONLY: ClassVar[frozenset[str]] = frozenset()

    @model_validator(mode="before")
    @classmethod
    def _without_what_is_answered_only(cls, sent: Any) -> Any:
        """What was read may be sent back as it was: what nobody can set is passed over."""
        if not isinstance(sent, dict):
            return sent
        return {name: value for name, value in sent.items() if name not in cls.ANSWERED_ONLY}


class SiteIn(Body):
    """A site, whole: what is left out is emptied."""

    ANSWERED_ONLY = frozenset({"id", "stored_at"})

    owner: UUID
    name: Annotated[str, Field(min_length=1, max_length=120)]
    address: Text = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    time_zone: Text
    frost_months: list[int] = Field(default=[], max_length=12)
    leaf_fall_months: list[int] = Field(default=[], max_length=12)
    closed_weekdays: list[int] = Field(default=[], max_length=7)
    works_from: time | None = None
    works_until: time | None = None
    notice_days: int | None = None
    rain_record: UUID | None = None
    access_note: Text = ""
    below_price_m2_yr: Decimals | None = None


class SurfaceIn(Body):
    """A surface, whole: what is left out is emptied. The limit is worked out from rule, design rain and agreement."""

    ANSWERED_ONLY = frozenset({"id", "stored_at", "limit", "locations"})

    site: UUID
    name: Annotated[str, Field(min_length=1, max_length=120)]
    surface_type: SurfaceType
    area_m2: float
    opened_on: date
    removed_on: date | None = None
    traffic: Traffic = Traffic.CARS
    run_on_area_m2: float = 0.0
    run_on_from: Text = ""
    bare_soil: bool = False
    trees: bool = False
    winter_grit: bool = False
    rule: Text = ""
    design_intensity_mm_h: float | None = None
    clogging_share: float = 0.1
    agreed_limit_mm_h: float | None = None
    agreed_source: Text = ""
    acceptance_rate_mm_h: float | None = None
    joint_width_mm: float | None = None
    overflow_diameter_mm: float | None = None
    overflow_invert_mm: float | None = None
    soil_measured_mm_h: float | None = None
    soil_safety_factor: float | None = None
    soil_rate_mm_h: float | None = None
    reuse_store_m3: float | None = None
    drain_limit_h: float | None = None
    subgrade_slope_percent: float | None = None
    subgrade_fall_length_m: float | None = None
    foundation_distance_m: float | None = None
    well_distance_m: float | None = None
    water_table_depth_m: float | None = None
    guarantee_from: date | None = None
    guarantee_months: int | None = None
    note: Text = ""


class RoundIn(Body):
    """A test round. It is stored once and never overwritten."""

    surface: UUID
    tested_on: date
    purpose: Purpose = Purpose.ROUTINE
    hours_since_rain: float | None = None
    standing_water: bool = False
    air_temperature_c: float | None = None
    surface_temperature_c: float | None = None
    note: Text = ""
    keep_anyway: bool = False
    """Store it though ring tests of it will not count, for the weather."""


class TestIn(Body):
    """One test: the readings as they were taken, in the units they were taken in. The rate is worked out here."""

    __test__: ClassVar[bool] = False  # not a test class, whatever its name suggests to a test runner

    round: UUID
    method: TestMethod = TestMethod.RING
    location: UUID | None = None
    """A fixed location of the surface; else say the spot."""
    spot: Text = ""
    unit_system: UnitSystem = UnitSystem.SI
    readings: dict[str, float | bool | None] = Field(default={}, max_length=40)
    """What is read once, by its key: of the ring prewet_mass, prewet_time_s, test_mass, ring_diameter, elapsed_s."""
    runs: list[dict[str, float | None]] = Field(default=[], max_length=MOST_RUNS)
    """What is read again in each run, where the method has runs."""
    ended: Ending = Ending.DRAINED
    seal: Seal | Literal[""] = ""
    ring_position: Text = ""
    leak_seen: bool = False
    rewetted: bool = True
    finished_at: Instant | None = None
    made_at: Instant | None = None
    """When the readings were taken, where it is sent later."""
    note: Text = ""
    keep_anyway: bool = False
    """Store it though it does not count in full, or is far from what is expected there."""


class Price(Body):
    """What the owner is charged, in the firm's currency."""

    amount: Decimals
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class CleaningIn(Body):
    """What was done to a surface on a day."""

    surface: UUID
    cleaned_on: date
    method: CleaningMethod
    share_of_area: float = 1.0
    wetness: Wetness = Wetness.DRY
    passes: int | None = None
    pressure_bar: float | None = None
    depth_out_mm: float | None = None
    material_out_kg: float | None = None
    material_in_kg: float | None = None
    material_in: Text = ""
    done_by: Text = ""
    equipment: Text = ""
    disposal_ticket: Text = ""
    disposal_place: Text = ""
    price: Price | None = None
    note: Text = ""


class FindingIn(Body):
    """What is wrong at one item of the checklist."""

    item: InspectionItem
    severity: Severity = Severity.SOON
    what: Annotated[str, Field(min_length=1, max_length=400)]
    where: Text = ""
    depth_mm: float | None = None
    comes_from: Text = ""
    advice: Text = ""


class WellIn(Body):
    """One water level in the observation well."""

    hours: float
    water_mm: float


class InspectionIn(Body):
    """A look at a surface: every item of its checklist is answered, by itself or by `all_in_order`."""

    surface: UUID
    inspected_on: date
    hours_since_rain: float | None = None
    all_in_order: bool = False
    """Everything of which nothing else is said is in order."""
    answers: dict[InspectionItem, Answer] = Field(default={})
    findings: list[FindingIn] = Field(default=[], max_length=MOST_FINDINGS)
    well: list[WellIn] = Field(default=[], max_length=MOST_WELL)
    winter_practice: Text = ""
    note: Text = ""
