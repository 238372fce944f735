"""What a surface needs within the coming year, as worked out by comparing what every choice costs from here on."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from core.calc.paving import CleaningMethod


@dataclass(frozen=True, slots=True)
class Rival:
    """A method against waiting: its price, and the money it saves with its price counted; below 0 it costs more."""

    method: CleaningMethod
    price: Decimal
    saves: Decimal


@dataclass(frozen=True, slots=True)
class CleaningNeed:
    """A cleaning that pays: from when on, with what, and against what it was compared.

    chance: of being below the limit on that day; rivals: the other methods that could be used then, the best first
    hours: of the crew; wants_fresh_test: whether it is a restoration above the firm's sum on an old test
    """

    on: date
    best: Rival
    chance: float
    rivals: tuple[Rival, ...]
    hours: float
    wants_fresh_test: bool = False


@dataclass(frozen=True, slots=True)
class Needs:
    """cleaning: the first within the year that pays; test_on: the day from which a test is worth its price

    test_saves: money that testing when due saves over ten years against never testing, its price counted; None where
    it was not compared. acts_below_mm_h: the rate from which down a cleaning would pay now. nearest: today's best
    method where none pays. year_below: what a year below the limit is worth avoiding here; ask_first: the sum above
    which a restoration wants a fresh test and a person's word. source_saves: the most that stopping the sediment may
    cost, None where nothing says that it keeps coming
    """

    currency: str
    year_below: Decimal
    ask_first: Decimal
    cleaning: CleaningNeed | None = None
    test_on: date | None = None
    test_saves: Decimal | None = None
    acts_below_mm_h: float | None = None
    nearest: Rival | None = None
    source_saves: Decimal | None = None

    @property
    def test_is_worth_it(self) -> bool:
        """Whether tests when due cost less in all than none."""
        return self.test_saves is None or self.test_saves > 0
