"""Rain records in words and tables."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor

from django.utils.dates import MONTHS_3
from django.utils.translation import gettext as _

from core.calc.format import NOTHING, format_short_length, percent
from qa.calc.dry_time import DryTime
from qa.calc.numbers import short
from qa.models import TestRound
from qa.selectors.rain_records import DoubtfulRound, MonthOfRain

ROUNDING = 1e-6  # of a tenth of an hour, lost where times are taken from each other
WHOLE = 0.995  # of a month is known of: nothing is said beside its depth


def rain_columns() -> tuple[str, ...]:
    """What stands over the cells of `year_rows`."""
    return _("Year"), *(str(name).capitalize() for name in MONTHS_3.values()), _("All that is known")


def year_rows(months: Mapping[int, Mapping[int, MonthOfRain]], units: str) -> list[tuple[str, ...]]:
    """The newest year first: what fell in each of its months, and the sum of what is known. units: si or us."""
    return [_year(year, months[year], units) for year in sorted(months, reverse=True)]


def _year(year: int, of_year: Mapping[int, MonthOfRain], units: str) -> tuple[str, ...]:
    cells = [_cell(of_year[number], units) if number in of_year else NOTHING for number in MONTHS_3]
    total = sum(month.depth_mm for month in of_year.values())
    return str(year), *cells, format_short_length(total, units)


def _cell(month: MonthOfRain, units: str) -> str:
    depth = format_short_length(month.depth_mm, units)
    if month.covered >= WHOLE:
        return depth
    # Translators: so much rain in that share of a month.
    return _("{depth} in {share} of it").format(depth=depth, share=percent(month.covered))


def dry_words(dry: DryTime) -> str:
    """The hours without rain before a round, as a record knows them."""
    if not dry.is_covered and dry.most_h is None:
        return _("not covered by the rain record")
    if dry.most_h is None:
        return _("more than {hours} h before, by the rain record").format(hours=_at_least(dry.least_h))
    if dry.most_h - dry.least_h <= 1.0:
        return _("{hours} h before, by the rain record").format(hours=_at_least(dry.least_h))
    return _("{least} to {most} h before, by the rain record").format(
        least=_at_least(dry.least_h), most=_at_most(dry.most_h)
    )


def _at_least(hours: float) -> str:
    """To tenths of an hour and downwards, so that nothing short of a day is told as a day."""
    return short(floor(hours * 10.0 + ROUNDING) / 10.0)


def _at_most(hours: float) -> str:
    return short(ceil(hours * 10.0 - ROUNDING) / 10.0)


def doubt_words(dry: DryTime) -> str:
    """Why a person should look at a round again; empty where nothing speaks for it."""
    if not dry.asks_for_a_look:
        return ""
    if dry.stated_h is None:
        stated = _("Last rain {when}; nothing was written.").format(when=dry_words(dry))
    else:
        stated = _("Last rain {when}; {hours} h were written.").format(
            when=dry_words(dry), hours=short(dry.stated_h)
        )
    return f"{stated} {_('Look at the round, and correct its weather if the record is right.')}"


def doubt_rows(found: Sequence[DoubtfulRound]) -> list[tuple[TestRound, str]]:
    """Rounds with why they are to be looked at."""
    return [(each.round, doubt_words(each.dry)) for each in found]


@dataclass(frozen=True, slots=True)
class DryLine:
    """What a round's page says of the hours before it, by the rain record. doubt: empty where nothing speaks for it."""

    words: str
    doubt: str


def dry_line(dry: DryTime | None) -> DryLine | None:
    """None where the site has no rain record."""
    return None if dry is None else DryLine(dry_words(dry), doubt_words(dry))
