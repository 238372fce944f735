"""Tests as observations, in the words of ISO 19156 (OMS) and W3C/OGC SOSA; `api.calc.observations` has the sources."""

from datetime import datetime
from typing import Literal
from uuid import UUID

from pydantic import Field

from accounts.calc.audience import Audience, Matter
from api.calc.observations import RATE_UCUM, UCUM_OF, property_of
from api.presentation.base import Choice, Recorded, Shown, recorded
from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc.counts import Zone
from qa.calc.deviations import Deviation
from qa.calc.effects import Effect
from qa.calc.methods import facts_on
from qa.calc.ring import Ending
from qa.models import InfiltrationTest

RING_ENTRIES = (
    "prewet_mass",
    "prewet_time_s",
    "start_delay_s",
    "test_mass",
    "ring_diameter",
    "elapsed_s",
    "minutes_since_first",
)
Reading = float | bool | None


class ProcedureOut(Choice):
    """How it was observed: the method, and what it is written in."""

    source: str
    source_status: str
    """How well the source is known here, in a word; hold it against the edition that the job names."""


class FeatureOut(Shown):
    """What was observed: a spot on a surface."""

    surface: UUID
    location: UUID | None
    """A fixed location of the surface; null for another spot."""
    place: str
    """The location's label, or the spot in words."""
    zone: Zone | None


class ResultOut(Shown):
    """What came out: `=` is the value itself, `<` says that the rate is less, `>` that it is more."""

    value: float
    unit: str
    """Its case-sensitive code in the Unified Code for Units of Measure (UCUM)."""
    bound: Literal["=", "<", ">"]


class DeviationOut(Shown):
    """What was off from the method."""

    key: str
    value: float | None
    allowed: str
    message: str
    effect: Effect
    """`voids`: the test says nothing; else it makes its rate a bound, or is a note."""


class ReadingsOut(Shown):
    """The readings as they were taken, in the units of `unit_system`."""

    unit_system: UnitSystem
    units: dict[str, str]
    """Of masses, lengths and rates."""
    once: dict[str, Reading]
    runs: list[dict[str, float]]


class TestOut(Recorded):
    """One test at one spot, as an observation."""

    type: Literal["Observation"] = "Observation"
    round: UUID
    observed_property: Choice = Field(serialization_alias="observedProperty")
    procedure: ProcedureOut
    phenomenon_time: datetime = Field(serialization_alias="phenomenonTime")
    """When the readings were taken (UTC), as the device told it."""
    result_time: datetime = Field(serialization_alias="resultTime")
    """When the result was worked out and stored here (UTC)."""
    has_feature_of_interest: FeatureOut = Field(serialization_alias="hasFeatureOfInterest")
    result: ResultOut | None
    """Null where a reading is kept without a value of its own."""
    counts: bool
    """Whether results and forecasts use it: active, and voided by no deviation nor by the weather of its round."""
    readings: ReadingsOut
    ended: Ending
    seal: str
    ring_position: str
    leak_seen: bool
    rewetted: bool
    deviations: list[DeviationOut]
    note: str
    """For people of the firm."""


TestOut.__test__ = False  # type: ignore[attr-defined]  # no test class, whatever its name suggests to a test runner


def test_out(row: InfiltrationTest, audience: Audience) -> TestOut:
    """A test. Expects its round with the surface and site, its location and who recorded it joined."""
    method, surface = TestMethod(row.method), row.round.surface
    observed = property_of(method)
    source = facts_on(method, surface.surface_type).source
    return TestOut(
        **recorded(row, surface),
        round=row.round_id,
        observed_property=Choice(id=observed.id, label=observed.label),
        procedure=ProcedureOut(
            id=method.value, label=method.label, source=source.citation, source_status=source.status_words
        ),
        phenomenon_time=row.finished_at or row.made_at,
        result_time=row.created_at,
        has_feature_of_interest=_feature(row),
        result=_result(row),
        counts=row.is_active and row.is_valid and row.round.is_active,
        readings=_readings(row),
        ended=Ending(row.ended),
        seal=row.seal,
        ring_position=row.ring_position,
        leak_seen=row.leak_seen,
        rewetted=row.rewetted,
        deviations=[_deviation(one) for one in row.deviations],
        note=audience.shown(Matter.NOTES, row.note, ""),
    )


test_out.__test__ = False  # type: ignore[attr-defined]


def _feature(row: InfiltrationTest) -> FeatureOut:
    return FeatureOut(
        surface=row.round.surface_id,
        location=row.location_id,
        place=row.place,
        zone=Zone(row.location.zone) if row.location else None,
    )


def _result(row: InfiltrationTest) -> ResultOut | None:
    value, unit = (row.rate_mm_h, RATE_UCUM) if row.gives_rate else (row.own_value, UCUM_OF[row.own_unit])
    if value is None:
        return None
    return ResultOut(value=value, unit=unit, bound=Bound(row.bound or Bound.EXACT).value)  # type: ignore[arg-type]


def _readings(row: InfiltrationTest) -> ReadingsOut:
    once: dict[str, Reading] = {name: getattr(row, name) for name in RING_ENTRIES}
    if not row.is_ring:
        once = dict(row.readings.once)
    runs = [dict(run) for run in row.readings.runs]
    return ReadingsOut(unit_system=UnitSystem(row.unit_system), units=row.units, once=once, runs=runs)


def _deviation(one: Deviation) -> DeviationOut:
    return DeviationOut(
        key=one.key, value=one.value, allowed=one.allowed, message=one.message, effect=one.effect
    )
