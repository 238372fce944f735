"""What is sent, as it is described to programs.

Kinds and shapes are checked here; what holds for a record is checked by the same forms that people fill in.
"""

from datetime import date, datetime, time
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from django.utils.translation import gettext as _
from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    Strict,
    model_validator,
)

from api.forms.asking import as_text
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
        said = _("{value} is no time of a record. Give one between 1900 and 2200.")
        raise ValueError(said.format(value=value.isoformat()))
    return value


def _as_number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int):
        said = _("{value} is no number of the list. Give one without quotation marks")
        raise ValueError(said.format(value=repr(value)))
    return value


# Days and times are texts in ISO 8601: the library would take a number for seconds since 1970, and "yes" for a yes.
Day = Annotated[date, BeforeValidator(as_text)]
Hour = Annotated[time, BeforeValidator(as_text)]
Instant = Annotated[AwareDatetime, BeforeValidator(as_text), AfterValidator(_of_our_time)]
Number = Annotated[float, Strict()]
Whole = Annotated[int, Strict()]
Flag = Annotated[bool, Strict()]
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
    latitude_deg: Number | None = None
    longitude_deg: Number | None = None
    time_zone: Text
    frost_months: list[Whole] = Field(default=[], max_length=12)
    leaf_fall_months: list[Whole] = Field(default=[], max_length=12)
    closed_weekdays: list[Whole] = Field(default=[], max_length=7)
    works_from: Hour | None = None
    works_until: Hour | None = None
    notice_days: Whole | None = None
    rain_record: UUID | None = None
    access_note: Text = ""
    below_price_m2_yr: Decimals | None = None


class SurfaceIn(Body):
    """A surface, whole: what is left out is emptied. The limit is worked out from rule, design rain and agreement."""

    ANSWERED_ONLY = frozenset({"id", "stored_at", "limit", "locations"})

    site: UUID
    name: Annotated[str, Field(min_length=1, max_length=120)]
    surface_type: SurfaceType
    area_m2: Number
    opened_on: Day
    removed_on: Day | None = None
    traffic: Annotated[Traffic, BeforeValidator(_as_number)] = Traffic.CARS
    run_on_area_m2: Number = 0.0
    run_on_from: Text = ""
    bare_soil: Flag = False
    trees: Flag = False
    winter_grit: Flag = False
    rule: Text = ""
    design_intensity_mm_h: Number | None = None
    clogging_share: Number = 0.1
    agreed_limit_mm_h: Number | None = None
    agreed_source: Text = ""
    acceptance_rate_mm_h: Number | None = None
    joint_width_mm: Number | None = None
    overflow_diameter_mm: Number | None = None
    overflow_invert_mm: Number | None = None
    soil_measured_mm_h: Number | None = None
    soil_safety_factor: Number | None = None
    soil_rate_mm_h: Number | None = None
    reuse_store_m3: Number | None = None
    drain_limit_h: Number | None = None
    subgrade_slope_percent: Number | None = None
    subgrade_fall_length_m: Number | None = None
    foundation_distance_m: Number | None = None
    well_distance_m: Number | None = None
    water_table_depth_m: Number | None = None
    guarantee_from: Day | None = None
    guarantee_months: Whole | None = None
    note: Text = ""


class RoundIn(Body):
    """A test round. It is stored once and never overwritten."""

    surface: UUID
    tested_on: Day
    purpose: Purpose = Purpose.ROUTINE
    hours_since_rain: Number | None = None
    standing_water: Flag = False
    air_temperature_c: Number | None = None
    surface_temperature_c: Number | None = None
    note: Text = ""
    keep_anyway: Flag = False
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
    readings: dict[str, Number | Flag | None] = Field(default={}, max_length=40)
    """What is read once, by its key: of the ring prewet_mass, prewet_time_s, test_mass, ring_diameter, elapsed_s."""
    runs: list[dict[str, Number | None]] = Field(default=[], max_length=MOST_RUNS)
    """What is read again in each run, where the method has runs."""
    ended: Ending = Ending.DRAINED
    seal: Seal | Literal[""] = ""
    ring_position: Text = ""
    leak_seen: Flag = False
    rewetted: Flag = True
    finished_at: Instant | None = None
    made_at: Instant | None = None
    """When the readings were taken, where it is sent later."""
    note: Text = ""
    keep_anyway: Flag = False
    """Store it though it does not count in full, or is far from what is expected there."""


class Price(Body):
    """What the owner is charged, in the firm's currency."""

    amount: Decimals
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class CleaningIn(Body):
    """What was done to a surface on a day."""

    surface: UUID
    cleaned_on: Day
    method: CleaningMethod
    share_of_area: Number = 1.0
    wetness: Wetness = Wetness.DRY
    passes: Whole | None = None
    pressure_bar: Number | None = None
    depth_out_mm: Number | None = None
    material_out_kg: Number | None = None
    material_in_kg: Number | None = None
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
    depth_mm: Number | None = None
    comes_from: Text = ""
    advice: Text = ""


class WellIn(Body):
    """One water level in the observation well."""

    hours: Number
    water_mm: Number


class InspectionIn(Body):
    """A look at a surface: every item of its checklist is answered, by itself or by `all_in_order`."""

    surface: UUID
    inspected_on: Day
    hours_since_rain: Number | None = None
    all_in_order: Flag = False
    """Everything of which nothing else is said is in order."""
    answers: dict[InspectionItem, Answer] = Field(default={})
    findings: list[FindingIn] = Field(default=[], max_length=MOST_FINDINGS)
    well: list[WellIn] = Field(default=[], max_length=MOST_WELL)
    winter_practice: Text = ""
    note: Text = ""
