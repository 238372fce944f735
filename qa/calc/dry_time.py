"""How long it had been dry before a test, by a rain record, and whether that bears out what was written down."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from core.calc.choices import TextChoice
from qa.calc.rain_record import Fall, Span, covers
from qa.calc.validity import RAIN_FREE_H

# One tip of a usual gauge, below which a row is dew or noise; common practice, no source.
RAIN_COUNTS_MM = 0.2
LOOK_BACK = timedelta(days=10)  # the rain before this is of no matter to a test
SLACK_H = 1.0  # hours as people tell them are no nearer than this; our judgement


class DryVerdict(TextChoice):
    """What a rain record says of the day before a test."""

    DRY = "dry", "Dry, by the rain record"
    WET = "wet", "Rain within 24 hours, by the rain record"
    UNSURE = "unsure", "The rain record cannot tell"
    NOT_COVERED = "not_covered", "Not covered by the rain record"


@dataclass(frozen=True, slots=True)
class DryTime:
    """Hours without rain before the tests, by the record: at least and at most.

    most_h: None where no rain is known within LOOK_BACK. stated_h: as written at the test; None where nobody did.
    """

    least_h: float
    most_h: float | None
    is_covered: bool
    stated_h: float | None

    @property
    def verdict(self) -> DryVerdict:
        """Against the RAIN_FREE_H hours that a test asks for."""
        if self.most_h is not None and self.most_h < RAIN_FREE_H:
            return DryVerdict.WET
        if not self.is_covered:
            return DryVerdict.NOT_COVERED
        return DryVerdict.DRY if self.least_h >= RAIN_FREE_H else DryVerdict.UNSURE

    @property
    def contradicts(self) -> bool:
        """Whether what was written cannot be, by the record: it rained later than that, or not so late."""
        if self.stated_h is None:
            return False
        too_long = self.most_h is not None and self.stated_h > self.most_h + SLACK_H
        too_short = self.is_covered and self.stated_h < self.least_h - SLACK_H and self.stated_h < RAIN_FREE_H
        return too_long or too_short

    @property
    def asks_for_a_look(self) -> bool:
        """Whether a person should look at the test again: what it is worth may be another than was thought.

        Hours that were told wrongly on the dry side of RAIN_FREE_H change nothing about a test.
        """
        is_dry, stated = self.verdict is DryVerdict.DRY, self.stated_h
        if self.contradicts:
            return not is_dry or (stated is not None and stated < RAIN_FREE_H)
        return self.verdict is DryVerdict.WET and (stated is None or stated >= RAIN_FREE_H)


def dry_time(tested: Span, falls: Iterable[Fall], covered: Iterable[Span], stated_h: float | None) -> DryTime:
    """Hours from the last rain to the beginning of the tests, which lies somewhere within `tested`.

    falls: of the LOOK_BACK before and of the span itself, others do not matter. A row of a day's rain fell at some
    time of that day, so the hours have a least and a most.
    """
    least, most = LOOK_BACK.total_seconds() / 3600.0, None
    for fall in falls:
        if fall.depth_mm < RAIN_COUNTS_MM or fall.span.begins >= tested.ends:
            continue
        least = min(least, max(0.0, _hours(tested.begins - fall.span.ends)))
        if (
            fall.span.ends <= tested.begins
        ):  # of rain later than this nobody knows whether it came before the tests
            since = _hours(tested.ends - fall.span.begins)
            most = since if most is None else min(most, since)
    day_before = Span(tested.begins - timedelta(hours=RAIN_FREE_H), tested.begins)
    return DryTime(least, most, covers(covered, day_before), stated_h)


def _hours(time: timedelta) -> float:
    return time.total_seconds() / 3600.0
