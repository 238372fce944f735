"""When advice that was declined or put off is given again. Our judgement, no source.

It returns when its grounds have become materially stronger than they were on the day of the decision, or when its time
has come; never because the record merely changed.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.calc.text import day, money, share
from maintenance.calc.vocabulary import Action

MORE_CHANCE = 0.10  # of being below the limit, in all
MORE_COSTS = 2  # times what waiting cost then
LEAST_SHARE = Decimal("0.10")  # of the price of the work that waiting must cost more
LASTS = timedelta(days=365)  # a refusal
RULE = (
    "It returns when another way is advised, when the chance of being below the limit has risen by "
    f"{MORE_CHANCE * 100:.0f} percentage points, or when waiting costs {MORE_COSTS} times as much"
)


@dataclass(frozen=True, slots=True)
class Basis:
    """What a decision rested on. title: what was advised; chance: of being below the limit, None where unknown."""

    action: Action
    method: str
    title: str
    chance: float | None
    waiting_costs: Decimal
    price: Decimal | None
    currency: str


def why_back(then: Basis, now: Basis, decided_on: date, today: date, until: date | None) -> str:
    """Why it is given again, a sentence for `text.speak`; empty where it keeps quiet.

    until: the day it was put off to; None for what was declined, which keeps quiet for a year at most.
    """
    if (then.action, then.method) != (now.action, now.method):
        return f"{then.title} was decided on {day(decided_on)}; another way is advised now."
    if then.chance is not None and now.chance is not None and now.chance - then.chance >= MORE_CHANCE:
        return (
            f"The chance of being below the limit has risen from {share(then.chance)} on {day(decided_on)} to "
            f"{share(now.chance)}."
        )
    if _costs_more(then, now):
        was, costs = money(then.waiting_costs, then.currency), money(now.waiting_costs, now.currency)
        return f"Waiting now costs {costs} a quarter; on {day(decided_on)} it was {was}."
    if today >= (until or decided_on + LASTS):
        return (
            f"It was {'put off' if until else 'declined'} on {day(decided_on)}, until {day(today)} at most."
        )
    return ""


def _costs_more(then: Basis, now: Basis) -> bool:
    more = now.waiting_costs - then.waiting_costs
    enough = more > LEAST_SHARE * (now.price or Decimal(0)) and more > 0
    return enough and now.waiting_costs >= MORE_COSTS * then.waiting_costs
