"""Invented rain over the invented town: showers that keep clear of the dry days before tests, but for one."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from qa.calc.rain_record import Fall, RainTable, Span

HOUR = timedelta(hours=1)
WET_SHARE = 0.4  # of days begin a shower
LONGEST_H = 7


def invented_rain(first_on: date, last_on: date, dry: Sequence[tuple[date, float]], seed: int) -> RainTable:
    """Hourly rain of some years. dry: days of tests with the hours before them that were told as dry."""
    chance = Random(seed)
    falls, kept_dry = _eve_of_one(dry, chance)
    for ahead in range((last_on - first_on).days):
        begins = _midnight(first_on + timedelta(days=ahead)) + chance.randrange(24) * HOUR
        shower = _shower(begins, chance.randint(1, LONGEST_H), chance)
        if chance.random() < WET_SHARE and not any(_meets(shower, span) for span in kept_dry):
            falls += shower
    first_of_each = {fall.span: fall for fall in sorted(falls)}
    return RainTable(list(first_of_each.values()), [Span(_midnight(first_on), _midnight(last_on))])


def _eve_of_one(dry: Sequence[tuple[date, float]], chance: Random) -> tuple[list[Fall], list[Span]]:
    """A shower on the eve of the first day that no other dry time reaches, and the dry times of all other days."""
    spans = [(on, Span(_midnight(on) - hours * HOUR, _midnight(on) + 24 * HOUR)) for on, hours in dry]
    for on, _ in dry:
        eve = _shower(_midnight(on) - 8 * HOUR, 3, chance)
        others = [span for other, span in spans if other != on]
        if not any(_meets(eve, span) for span in others):
            return eve, others
    return [], [span for _, span in spans]


def _midnight(on: date) -> datetime:
    return datetime.combine(on, time(), tzinfo=UTC)


def _shower(begins: datetime, hours: int, chance: Random) -> list[Fall]:
    return [
        Fall(Span(begins + hour * HOUR, begins + (hour + 1) * HOUR), round(0.2 + chance.expovariate(0.6), 1))
        for hour in range(hours)
    ]


def _meets(shower: Sequence[Fall], span: Span) -> bool:
    return shower[0].span.begins < span.ends and shower[-1].span.ends > span.begins
