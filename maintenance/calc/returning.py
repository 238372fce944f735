"""When advice that was declined or put off is given again. Our judgement, no source.

It returns when its grounds have become materially stronger than they were on the day of the decision, or when its time
has come; never because the record merely changed.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from core.calc.translation import gettext_noop
from maintenance.calc.text import day, money, share, what
from maintenance.calc.vocabulary import Action

MORE_CHANCE = 0.10  # of being below the limit, in all
MORE_COSTS = 2  # times what waiting cost then
LEAST_SHARE = Decimal("0.10")  # of the price of the work that waiting must cost more
LASTS = timedelta(days=365)  # a refusal
RULE = gettext_noop(  # with the two figures above
    "It returns when another way is advised, when the chance of being below the limit has risen by 10 percentage "
    "points, or when waiting costs 2 times as much"
)


@dataclass(frozen=True, slots=True)
class Basis:
    """What a decision rested on. chance: of being below the limit, None where unknown."""

    action: Action
    method: str
    chance: float | None
    waiting_costs: Decimal
    price: Decimal | None
    currency: str


def why_back(then: Basis, now: Basis, decided_on: date, today: date, until: date | None) -> str:
    """Why it is given again, a sentence for `text.speak`; empty where it keeps quiet.

    until: the day it was put off to; None for what was declined, which keeps quiet for a year at most.
    """
    if (then.action, then.method) != (now.action, now.method):
        said = gettext_noop("{what1} was decided on {day1}; another way is advised now.")
        return said.format(what1=what(then.action, then.method), day1=day(decided_on))
    if then.chance is not None and now.chance is not None and now.chance - then.chance >= MORE_CHANCE:
        said = gettext_noop(
            "The chance of being below the limit has risen from {share1} on {day1} to {share2}."
        )
        return said.format(share1=share(then.chance), day1=day(decided_on), share2=share(now.chance))
    if _costs_more(then, now):
        was, costs = money(then.waiting_costs, then.currency), money(now.waiting_costs, now.currency)
        said = gettext_noop("Waiting now costs {money1} a quarter; on {day1} it was {money2}.")
        return said.format(money1=costs, day1=day(decided_on), money2=was)
    if today >= (until or decided_on + LASTS):
        put_off = gettext_noop("It was put off on {day1}, until {day2} at most.")
        declined = gettext_noop("It was declined on {day1}, until {day2} at most.")
        return (put_off if until else declined).format(day1=day(decided_on), day2=day(today))
    return ""


def _costs_more(then: Basis, now: Basis) -> bool:
    more = now.waiting_costs - then.waiting_costs
    enough = more > LEAST_SHARE * (now.price or Decimal(0)) and more > 0
    return enough and now.waiting_costs >= MORE_COSTS * then.waiting_costs
