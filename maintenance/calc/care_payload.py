"""What is kept of the comparison of ways of caring for one surface."""

from dataclasses import dataclass

from core.calc.choices import TextChoice
from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.programmes import Programme


class CareKind(TextChoice):
    """What a programme of care is to the others it is compared with."""

    NOTHING = "nothing", "Nothing"
    ADVISED = "advised", "As advised, tested when due"
    UNTESTED = "untested", "As advised, without tests"
    LESS = "less", "Less care"
    MORE = "more", "More care"
    CALENDAR = "calendar", "By calendar"
    STRONGER = "stronger", "By calendar, and stronger when in doubt"
    AGREED = "agreed", "As agreed today"
    SOURCE = "source", "The sediment stopped first, then as advised"


@dataclass(frozen=True, slots=True)
class Spread:
    """A mean and its 80 % range."""

    mean: float
    lo80: float
    hi80: float


@dataclass(frozen=True, slots=True)
class CareYear:
    """One year of a programme, counted from today: money for works and tests, and months below the limit."""

    cost: Spread
    months_below: float


@dataclass(frozen=True, slots=True)
class Use:
    """How often a method is used a year, on average."""

    method: CleaningMethod
    a_year: float


@dataclass(frozen=True, slots=True)
class CareOutcome:
    """What one programme is expected to cost and to give over ten years, on futures drawn from what is known.

    cost_a_year: money for works and tests, with the range between futures; months_below: a year; share_within: of time
    chance_within: of staying within the limit all ten years; spent_10, spent_20: works and tests over ten and twenty
    years, discounted; total_10, total_20: the same with time below at its price; uses, tests_a_year: on average
    first, first_yr: the method most futures use first and the mean of the years until then; None where most use none
    """

    kind: CareKind
    programme: Programme
    cost_a_year: Spread
    months_below: float
    share_within: float
    chance_within: float
    spent_10: float
    spent_20: float
    total_10: float
    total_20: float
    uses: tuple[Use, ...]
    tests_a_year: float
    first: CleaningMethod | None
    first_yr: float | None
    by_year: tuple[CareYear, ...]


@dataclass(frozen=True, slots=True)
class CareComparison:
    """Programmes of care for one surface, and which of them is suggested.

    below_price_m2_yr: what a year below the limit is worth avoiding, money a square metre; futures: how many were drawn
    suggested: its place among the outcomes
    acts_below_mm_h: the rate, if it were known, from which down a cleaning now would pay; None where none would
    """

    below_price_m2_yr: float
    futures: int
    suggested: int
    outcomes: tuple[CareOutcome, ...]
    acts_below_mm_h: float | None = None

    def of(self, kind: CareKind) -> CareOutcome | None:
        """The first outcome of a kind."""
        return next((outcome for outcome in self.outcomes if outcome.kind is kind), None)

    @property
    def chosen(self) -> CareOutcome:
        """The outcome of the programme that is suggested."""
        return self.outcomes[self.suggested]

    @property
    def next_best(self) -> CareOutcome:
        """The cheapest in all of those that neither are suggested nor do nothing nor change the source."""
        passed = (CareKind.NOTHING, CareKind.SOURCE)
        rest = [o for o in self.outcomes if o is not self.chosen and o.kind not in passed]
        return min(rest, key=lambda outcome: outcome.total_10)

    @property
    def test_saves(self) -> float | None:
        """Money that testing when due saves over ten years against never testing, its price counted."""
        tested, untested = self.of(CareKind.ADVISED), self.of(CareKind.UNTESTED)
        return untested.total_10 - tested.total_10 if tested and untested else None

    @property
    def source_saves(self) -> float | None:
        """The most that stopping the sediment may cost: what it saves over twenty years."""
        stopped, advised = self.of(CareKind.SOURCE), self.of(CareKind.ADVISED)
        return advised.total_20 - stopped.total_20 if stopped and advised else None
