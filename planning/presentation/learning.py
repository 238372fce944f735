"""What cleanings gave, in words and figures."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import NOTHING, day, figure
from planning.calc.learning import Cleaned, Summary

UNKNOWN_CREW = gettext_noop("Nobody named")


@dataclass(frozen=True, slots=True)
class SummaryLine:
    """One row of a table of crews or methods."""

    name: str
    cleanings: int
    told: int
    ratio: str
    within: str
    says: str


@dataclass(frozen=True, slots=True)
class CleaningLine:
    """One cleaning: what it gave, and what it was to give."""

    key: Any
    on: str
    what: str
    surface: str
    crew: str
    gave: str
    expected: str
    is_within: bool


def summary_lines(found: Iterable[Summary]) -> list[SummaryLine]:
    """Rows in the order given."""
    return [_summary(each) for each in found]


def _summary(each: Summary) -> SummaryLine:
    ratio = NOTHING
    if each.ratio is not None:
        ratio = _("{middle} ({low} to {high})").format(
            middle=figure(each.ratio), low=figure(each.low), high=figure(each.high)
        )
    return SummaryLine(
        name=_name(each),
        cleanings=each.cleanings,
        told=each.told,
        ratio=ratio,
        within=_("{count} of {total}").format(count=each.within, total=each.told) if each.told else NOTHING,
        says=each.says,
    )


def _name(each: Summary) -> str:
    """The crew, the method, or both; a group without a method is of a crew, named or not."""
    if not each.method:
        return each.crew or _(UNKNOWN_CREW)
    if not each.crew:
        return each.method
    return _("{crew}: {method}").format(crew=each.crew, method=each.method.lower())


def cleaning_lines(cleaned: Iterable[Cleaned]) -> list[CleaningLine]:
    """Cleanings with rounds on both sides."""
    return [_cleaning(one) for one in cleaned]


def _cleaning(one: Cleaned) -> CleaningLine:
    middle, low, high = one.was_to_give or (None, None, None)
    return CleaningLine(
        key=one.key,
        on=day(one.on),
        what=one.method,
        surface=one.surface,
        crew=one.crew or _(UNKNOWN_CREW),
        gave=_("{ratio} times").format(ratio=figure(one.gave)),
        expected=_("{ratio} times ({low} to {high})").format(
            ratio=figure(middle), low=figure(low), high=figure(high)
        ),
        is_within=one.is_within,
    )
