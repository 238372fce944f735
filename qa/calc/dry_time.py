"""How long it had been dry before a test, by a rain record, and whether that bears out what was written down."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from core.calc.choices import TextChoice
from qa.calc.rain_record import Fall, Span, covers, joined
from qa.calc.validity import RAIN_FREE_H

# One tip of a usual gauge, below which a shower is dew or noise; common practice, no source.
RAIN_COUNTS_MM = 0.2
APART = timedelta(hours=1)  # dry for longer than this, and it is another rain; our judgement
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
    time of that day, so the hours have a least and a most. Beyond a gap of the record nothing is known to be dry.
    """
    known = joined(covered)
    least, most = min(_hours(LOOK_BACK), _known_back_h(tested, known)), None
    for fall in _rain(fall for fall in falls if fall.span.begins < tested.ends):
        least = min(least, max(0.0, _hours(tested.begins - fall.span.ends)))
        if (
            fall.span.ends <= tested.begins
        ):  # of rain later than this nobody knows whether it came before the tests
            since = _hours(tested.ends - fall.span.begins)
            most = since if most is None else min(most, since)
    asked = Span(tested.begins - timedelta(hours=RAIN_FREE_H), tested.ends)
    return DryTime(least, most, covers(known, asked), stated_h)


def _rain(falls: Iterable[Fall]) -> Iterator[Fall]:
    """Those that are rain: rows that follow each other within APART count together, so that a drizzle is one rain."""
    shower: list[Fall] = []
    for fall in sorted(falls):
        if shower and fall.span.begins - shower[-1].span.ends > APART:
            yield from _counted(shower)
            shower = []
        shower.append(fall)
    yield from _counted(shower)


def _counted(shower: Sequence[Fall]) -> Sequence[Fall]:
    # Depths as written, so that two tips of 0.1 mm are the 0.2 mm that count, whatever their binary sum.
    return shower if round(sum(fall.depth_mm for fall in shower), 6) >= RAIN_COUNTS_MM else ()


def _known_back_h(tested: Span, known: Sequence[Span]) -> float:
    """Hours before the earliest beginning of the tests to which the record reaches without a gap."""
    reaching = [span.begins for span in known if span.begins <= tested.begins <= span.ends]
    return _hours(tested.begins - min(reaching)) if reaching else 0.0


def _hours(time: timedelta) -> float:
    return time.total_seconds() / 3600.0
