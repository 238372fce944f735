"""What a piece of advice is worth beside the others of a firm: what waiting costs, and the hours it takes.

What waiting costs is told for a quarter of a year, the step in which care is compared, so that a cleaning, a test and
a search for the source can be set in one order.
"""

from collections.abc import Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import Advice, SurfaceStatus
from maintenance.calc.costs import CENT
from maintenance.calc.needs import Needs
from maintenance.calc.vocabulary import Action

QUARTERS = 4
TESTS_COMPARED_YR, SOURCE_COMPARED_YR = (
    10,
    20,
)  # over which savings of tests and of stopping a source are counted
# Hours on site; our judgement, no source.
HOURS_TEST_ROUND, HOURS_LOOK = 1.5, 1.0


def weighed(
    piece: Advice, needs: Needs, status: SurfaceStatus, hours: Mapping[CleaningMethod, float]
) -> Advice:
    """The advice with what waiting costs, its hours and today's chance. hours: of the crew, by method."""
    return replace(
        piece,
        waiting_costs=waiting_costs(piece, needs, status),
        crew_hours=round(_hours(piece, hours), 2),
        chance=status.share_below_now,
    )


def waiting_costs(piece: Advice, needs: Needs, status: SurfaceStatus) -> Decimal:
    """Money that a quarter's waiting is expected to cost; 0 where nothing tells, as of what was agreed alone.

    A cleaning, and a test that a restoration waits for: what acting now saves against waiting, its price counted.
    Another test: its share of what testing when due saves over ten years. A source: of what stopping it saves over
    twenty. An engineer's inspection, where nothing offered pays: a quarter of the year below, by its chance.
    """
    if piece.is_agreed:
        return Decimal(0)
    if piece.saves is not None:
        found = piece.saves
    elif piece.action is Action.TEST:
        found = _of_test(needs)
    elif piece.action is Action.SOURCE:
        found = (needs.source_saves or Decimal(0)) / (SOURCE_COMPARED_YR * QUARTERS)
    else:
        found = needs.year_below * Decimal(repr(status.share_below_now)) / QUARTERS
    return max(found, Decimal(0)).quantize(CENT, ROUND_HALF_UP)


def _of_test(needs: Needs) -> Decimal:
    if needs.cleaning and needs.cleaning.wants_fresh_test:
        return needs.cleaning.best.saves
    return (needs.test_saves or Decimal(0)) / (TESTS_COMPARED_YR * QUARTERS)


def _hours(piece: Advice, hours: Mapping[CleaningMethod, float]) -> float:
    if piece.option:
        return hours.get(piece.option.method, 0.0)
    return HOURS_TEST_ROUND if piece.action is Action.TEST else HOURS_LOOK
