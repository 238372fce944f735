"""Comparisons of care for the tests of its words and pictures, with figures that can be told apart."""

from core.calc.paving import CleaningMethod
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome, CareYear, Spread, Use
from maintenance.calc.deciding.programmes import Programme

VACUUM, RELAY = CleaningMethod.VACUUM, CleaningMethod.RELAY
SWEPT = (Use(VACUUM, 0.25),)


def outcome(kind=CareKind.ADVISED, programme=None, cost=1000.0, **changes):
    """A programme with its cost a year give or take a fifth, three months below, and ten years that grow by a tenth."""
    values = {
        "kind": kind,
        "programme": programme or Programme(worth_m2_yr=4.0, tests_when_due=True),
        "cost_a_year": Spread(cost, 0.8 * cost, 1.2 * cost),
        "months_below": 3.0,
        "share_within": 0.75,
        "chance_within": 0.4,
        "spent_10": 9 * cost,
        "spent_20": 15 * cost,
        "total_10": 12 * cost,
        "total_20": 20 * cost,
        "uses": SWEPT,
        "tests_a_year": 0.5,
        "first": VACUUM,
        "first_yr": 1.5,
        "by_year": tuple(
            CareYear(Spread(cost * (0.55 + 0.1 * i), 0.5 * cost, 2.0 * cost), 0.5 * i) for i in range(10)
        ),
    }
    return CareOutcome(**values | changes)


def along(kind, worth, **changes):
    """Deciding by another price of time below."""
    return outcome(kind, Programme(worth_m2_yr=worth, tests_when_due=True), **changes)


NOTHING = outcome(
    CareKind.NOTHING,
    Programme(),
    cost=0.0,
    months_below=11.0,
    share_within=0.08,
    chance_within=0.0,
    total_10=33_000.0,
    uses=(),
    tests_a_year=0.0,
)
ADVISED = outcome()
LESS, MORE = along(CareKind.LESS, 0.4, cost=400.0), along(CareKind.MORE, 32.0, cost=2500.0)
UNTESTED = outcome(CareKind.UNTESTED, Programme(worth_m2_yr=4.0), total_10=12_700.0, tests_a_year=0.0)
CALENDAR = outcome(CareKind.CALENDAR, Programme(2.0, VACUUM), cost=900.0, total_10=14_000.0)
STRONGER = outcome(
    CareKind.STRONGER, Programme(1.0, VACUUM, 0.2, RELAY, test_every_yr=2.0), cost=5000.0, total_10=60_000.0
)
AGREED = outcome(CareKind.AGREED, Programme(1.0, VACUUM, test_every_yr=2.0), cost=800.0, total_10=15_000.0)
SOURCE = outcome(
    CareKind.SOURCE,
    Programme(worth_m2_yr=4.0, tests_when_due=True, stop_source=True),
    cost=600.0,
    total_20=12_500.0,
)
ALL = (NOTHING, ADVISED, LESS, MORE, UNTESTED, CALENDAR, STRONGER, AGREED, SOURCE)


def comparison(*outcomes, chosen=ADVISED, **changes):
    """Programmes side by side, all of them where none are named."""
    rows = outcomes or ALL
    values = {
        "below_price_m2_yr": 4.0,
        "futures": 16,
        "suggested": rows.index(chosen),
        "outcomes": rows,
        "acts_below_mm_h": 400.0,
    }
    return CareComparison(**values | changes)
