"""How long a piece of work takes a crew, on how many days, and what waiting with it costs. Judgements named beside."""

from collections.abc import Collection, Mapping
from datetime import date
from decimal import Decimal
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
TOP_UP_M2_H = 150  # joint stone spread, swept in and compacted, none taken out; common practice, no source
PLAIN_WORTH = 150.0  # of what has no saving of its own: tests, inspections, what was agreed; our judgement
ARRIVAL_COST = (
    25.0  # of each arrival at a site beside the drive: telling the owner, closing off; our judgement
)
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


def usual_min(action: Action, area_m2: float) -> int:
    """Minutes of work that is neither a round of tests nor a cleaning by a method."""
    if action is Action.TOP_UP:
        return cleaning_min(area_m2, TOP_UP_M2_H)
    return USUAL_MIN.get(action, USUAL_MIN[Action.INSPECT])


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


def work_cost(minutes: int, hour_cost: Decimal, price_per_m2: Decimal | None, area_m2: float) -> float:
    """Money that a piece of work costs the firm: a subcontractor's price where there is one, else the crew's hours."""
    if price_per_m2 is not None:
        return float(price_per_m2) * area_m2
    return float(hour_cost) * minutes / 60.0


def beyond_usual(money: Mapping[int, float], subcontracted: Collection[int]) -> dict[int, float]:
    """By crew what a piece of work costs beyond the firm's own cheapest way, below 0 where a crew is cheaper.

    Where none of the firm's own crews can do it, the cheapest of the others is the usual one.
    """
    own = [cost for crew, cost in money.items() if crew not in subcontracted]
    usual = min(own or money.values(), default=0.0)
    return {crew: round(cost - usual, 2) for crew, cost in money.items() if round(cost - usual, 2)}
