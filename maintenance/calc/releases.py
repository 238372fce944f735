"""When advice has changed so much since its release that the office should look again. Our judgement, no source."""

from datetime import timedelta
from decimal import Decimal

from core.calc.translation import gettext_noop
from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.text import day, money, what

PRICE_SHARE = Decimal("0.05")  # of the price as released
DAYS = timedelta(days=30)
GONE = gettext_noop("Newer facts no longer ask for it.")


def differences(released: ReleasedAdvice, now: ReleasedAdvice, *, is_gone: bool = False) -> tuple[str, ...]:
    """What differs materially, in sentences for `text.speak`; empty where an owner would decide the same.

    Another action or way of cleaning, a price that moved by more than a twentieth, a day that moved by more than a
    month, or that it is asked for no longer. Other words for the same are no change.
    """
    if is_gone:
        return (GONE,)
    found = []
    if (released.action, released.method) != (now.action, now.method):
        said = gettext_noop("It now advises '{what1}'; released was '{what2}'.")
        found.append(
            said.format(what1=what(now.action, now.method), what2=what(released.action, released.method))
        )
    if _price_moved(released, now):
        found.append(_prices(released, now))
    if abs(now.due_on - released.due_on) > DAYS:
        said = gettext_noop("It is now due by {day1}; released was {day2}.")
        found.append(said.format(day1=day(now.due_on), day2=day(released.due_on)))
    return tuple(found)


def _price_moved(released: ReleasedAdvice, now: ReleasedAdvice) -> bool:
    if released.cost is None or now.cost is None or released.currency != now.currency:
        return (released.cost, released.currency) != (now.cost, now.currency)
    return abs(now.cost - released.cost) > PRICE_SHARE * released.cost


def _prices(released: ReleasedAdvice, now: ReleasedAdvice) -> str:
    given = [money(each.cost, each.currency) for each in (now, released) if each.cost is not None]
    said = gettext_noop("Its price is now {money1}; released was {money2}.")
    if now.cost is None:
        said = gettext_noop("Its price is now not given; released was {money1}.")
    elif released.cost is None:
        said = gettext_noop("Its price is now {money1}; released was not given.")
    return said.format(**{f"money{place}": each for place, each in enumerate(given, start=1)})
