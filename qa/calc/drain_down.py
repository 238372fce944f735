"""How long the stone below a surface takes to run empty, from water levels read in an observation well."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.citing import named
from qa.calc.numbers import short
from qa.calc.rain import DRAIN_TIME_RULES_H, Rule
from qa.calc.sources import looked_up

READING_ERROR_MM = 5.0  # a tape in a wet pipe; our judgement, no source
CLOGGED_SUBGRADE_H = 72.0
CLOGGED_SUBGRADE_SOURCE = looked_up(
    gettext_noop(
        "Minnesota Stormwater Manual, operation and maintenance of permeable pavement: water in the observation well "
        "3 days after a storm of more than 0.5 in says that the subgrade clogs"
    )
)
# The rule of a limit's document that also says how soon the stone must be empty.
_PLACE_OF_PRESET = {
    "ontario": "Ontario",
    "new_jersey": "New Jersey",
    "north_carolina": "North Carolina",
}

NO_READING = gettext_noop(
    "No water level is given. Read the level in the well and say how long after the rain."
)
BAD_LEVEL = gettext_noop(
    "A water level of {water} mm cannot be. Measure from the bottom of the stone up: 0 is empty."
)
BAD_TIME = gettext_noop("{hours} h after the rain cannot be. Count from the end of the rain.")
TWICE = gettext_noop("Two levels are given for {hours} h after the rain. Give each its own time.")
ROSE = gettext_noop(
    "The water rose from {before} mm after {start} h to {after} mm after {end} h. It rained in between, or a "
    "level was misread: give the levels since the last rain only."
)


@dataclass(frozen=True, slots=True)
class WellReading:
    """Water standing in the well. hours: since the rain ended; water_mm: above the bottom of the stone, 0 is empty."""

    hours: float
    water_mm: float


@dataclass(frozen=True, slots=True)
class WellReadings(Payload):
    """What was read in an observation well, as it is kept."""

    SCHEMA: ClassVar[int] = 1

    readings: tuple[WellReading, ...] = field(default_factory=tuple)


@dataclass(frozen=True, slots=True)
class DrainDown:
    """When the stone was empty, in hours since the rain ended.

    at_least_h: water still stood then; at_most_h: it was gone by then, None where it never was.
    estimate_h: by the fall between two levels, None where there is no fall to go by. fall_mm_h: of the water.
    """

    at_least_h: float
    at_most_h: float | None
    estimate_h: float | None
    fall_mm_h: float | None


class DrainJudgement(TextChoice):
    """What a drain-down says to the time that is asked for."""

    IN_TIME = "in_time", "empty in time"
    TOO_SLOW = "too_slow", "empty too late"
    CANNOT_TELL = "cannot_tell", "cannot tell yet"


@dataclass(frozen=True, slots=True)
class DrainLimit:
    """The hours in which the stone must be empty, and who asks for it."""

    hours: float
    source: str


def drain_down(readings: Sequence[WellReading]) -> DrainDown:
    """When the stone is empty, from levels at known times after the rain.

    Between two levels the water falls evenly: the soil takes f mm/h, so that water in stone of porosity n falls by f/n,
    and a depth d is gone after d n / f, the drain-down time of the sizing guides (mass balance).
    Raises IncompleteRecordError without a reading, ImpossibleRecordError for levels that cannot be.
    """
    listed = sorted(readings, key=lambda reading: reading.hours)
    _refuse_impossible(listed)
    wet = [reading for reading in listed if reading.water_mm > 0]
    dry = next((reading for reading in listed if reading.water_mm == 0), None)
    if not wet:
        return DrainDown(0.0, listed[0].hours, None, None)
    last, gone_h = wet[-1], dry.hours if dry else None
    fall = _fall_mm_h(wet)
    estimate = last.hours + last.water_mm / fall if fall else None
    if estimate is not None and gone_h is not None:
        estimate = min(estimate, gone_h)
    return DrainDown(last.hours, gone_h, estimate, fall)


def _refuse_impossible(listed: Sequence[WellReading]) -> None:
    if not listed:
        raise IncompleteRecordError(_(NO_READING))
    for one in listed:
        if one.hours < 0:
            raise ImpossibleRecordError(_(BAD_TIME).format(hours=short(one.hours)))
        if one.water_mm < 0:
            raise ImpossibleRecordError(_(BAD_LEVEL).format(water=short(one.water_mm)))
    for one, two in pairwise(listed):
        if one.hours == two.hours:
            raise ImpossibleRecordError(_(TWICE).format(hours=short(one.hours)))
        came_back = one.water_mm == 0 < two.water_mm
        if came_back or two.water_mm > one.water_mm + READING_ERROR_MM:
            said = {"before": one.water_mm, "start": one.hours, "after": two.water_mm, "end": two.hours}
            raise ImpossibleRecordError(
                _(ROSE).format(**{name: short(value) for name, value in said.items()})
            )


def _fall_mm_h(wet: Sequence[WellReading]) -> float | None:
    """Between the first and the last level with water; None where it does not fall by more than a tape can tell."""
    first, last = wet[0], wet[-1]
    fallen_mm = first.water_mm - last.water_mm
    return fallen_mm / (last.hours - first.hours) if fallen_mm > READING_ERROR_MM else None


def judge_drain_down(found: DrainDown, limit_h: float) -> DrainJudgement:
    """Against the hours allowed. What was seen decides; where it cannot, the estimate does."""
    if found.at_most_h is not None and found.at_most_h <= limit_h:
        return DrainJudgement.IN_TIME
    if found.at_least_h > limit_h:
        return DrainJudgement.TOO_SLOW
    if found.estimate_h is None:
        return DrainJudgement.CANNOT_TELL
    return DrainJudgement.IN_TIME if found.estimate_h <= limit_h else DrainJudgement.TOO_SLOW


def drain_limit(agreed_h: float | None, limit_preset: str) -> DrainLimit | None:
    """What was agreed for the surface, else what the document of its limit asks; None where neither says."""
    if agreed_h is not None:
        return DrainLimit(agreed_h, _("agreed for this surface"))
    rule = _rule_of(limit_preset)
    return None if rule is None or rule.most is None else DrainLimit(rule.most, named(rule.source))


def _rule_of(limit_preset: str) -> Rule | None:
    place = _PLACE_OF_PRESET.get(limit_preset)
    return next((rule for rule in DRAIN_TIME_RULES_H if rule.place_written == place), None)
