"""How long a piece of work takes a crew, on how many days, and what waiting with it costs. Judgements named beside."""

from collections.abc import Mapping
from datetime import date
from math import ceil
from typing import NamedTuple

from maintenance.calc.vocabulary import Action
from maintenance.calc.waiting import HOURS_LOOK
from planning.calc.routing.problem import Shift

SETTING_UP_MIN = 15  # parking, signs, tools; our judgement
SPOT_MIN = 25  # of a test: sealing, prewetting, the test itself; our judgement
USUAL_MIN: Mapping[Action, int] = {  # our judgement
    Action.INSPECT: 30,
    Action.LOOK: round(60 * HOURS_LOOK),
    Action.SOURCE: round(60 * HOURS_LOOK),
    Action.REPAIR: 60,
}
PLAIN_WORTH = 150.0  # of what has no saving of its own: tests, inspections, what was agreed; our judgement
LATE_WORTH_DAY = 5.0  # for each day late, until LATE_DAYS
LATE_DAYS = 60


class Effort(NamedTuple):
    """Minutes of one day, and on how many days in a row; 0 for work that shares its day."""

    minutes: int
    whole_days: int


def cleaning_min(area_m2: float, output_m2_h: float) -> int:
    """Minutes of a cleaning by area and output, with setting up."""
    return SETTING_UP_MIN + ceil(60.0 * area_m2 / output_m2_h)


def round_min(spots: int) -> int:
    """Minutes of a round of tests at so many spots."""
    return SETTING_UP_MIN + SPOT_MIN * max(1, spots)


def in_days(minutes: int, shift: Shift, way_min: int) -> Effort:
    """Work that fits a day with the way there and back shares it; what does not takes whole days."""
    room = shift.minutes - 2 * way_min
    if minutes <= room or room <= 0:
        return Effort(minutes, 0)
    days = ceil(minutes / room)
    return Effort(ceil(minutes / days), days)


def worth_of(saves: float | None, due_on: date, today: date) -> float:
    """What waiting beyond the plan costs: as it was compared, at least a plain amount, and more for what is late."""
    late = min(LATE_DAYS, max(0, (today - due_on).days))
    return max(PLAIN_WORTH, saves or 0.0) + LATE_WORTH_DAY * late
