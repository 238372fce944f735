"""When advice has changed so much since its release that the office should look again. Our judgement, no source."""

from datetime import timedelta
from decimal import Decimal

from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.text import day, money

PRICE_SHARE = Decimal("0.05")  # of the price as released
DAYS = timedelta(days=30)
GONE = "Newer facts no longer ask for it."


def differences(released: ReleasedAdvice, now: ReleasedAdvice, *, is_gone: bool = False) -> tuple[str, ...]:
    """What differs materially, in sentences for `text.speak`; empty where an owner would decide the same.

    Another action or way of cleaning, a price that moved by more than a twentieth, a day that moved by more than a
    month, or that it is asked for no longer. Other words for the same are no change.
    """
    if is_gone:
        return (GONE,)
    found = []
    if (released.action, released.method) != (now.action, now.method):
        found.append(f"It now advises {now.title!r}; released was {released.title!r}.")
    if _price_moved(released, now):
        found.append(f"Its price is now {_price(now)}; released was {_price(released)}.")
    if abs(now.due_on - released.due_on) > DAYS:
        found.append(f"It is now due by {day(now.due_on)}; released was {day(released.due_on)}.")
    return tuple(found)


def _price_moved(released: ReleasedAdvice, now: ReleasedAdvice) -> bool:
    if released.cost is None or now.cost is None or released.currency != now.currency:
        return (released.cost, released.currency) != (now.cost, now.currency)
    return abs(now.cost - released.cost) > PRICE_SHARE * released.cost


def _price(advice: ReleasedAdvice) -> str:
    return "not given" if advice.cost is None else money(advice.cost, advice.currency)
