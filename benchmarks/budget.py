"""A yearly sum over the demo's surfaces: chosen by what it gives, against worst first with the same money.

    python -m benchmarks.budget --seed 3
    python -m benchmarks.budget --seed 4 --firm

Each surface's programmes are carried out on futures drawn from what is known of it, as the forecast does; then half of
what would be spent without a sum is given out, once by `choose_care` and once worst first: the surfaces that would be
below longest get what the rule advises while the money lasts. Prints money and priced time below of both, in all, and
as what is lost against having no sum at all: surfaces that no money keeps within their limit weigh on both alike, so
that the second is what is to be 0.85 at most. The futures are the same for both, and no tuning was done on them.
--firm takes an invented firm instead, whose surfaces are drawn from the demo's with ages, sizes and wear of their own.
"""

import argparse
import json
import sys
from dataclasses import replace

import numpy as np

from benchmarks.deciding_worlds import FIRST_STEP, Fleet, fleet, fleet_of
from clogging import api
from core.calc.care_value import BELOW_PRICE_M2_YR
from core.calc.payload import from_text, to_payload
from demo.calc.place import SITES
from maintenance.calc.deciding.budget import choose_care
from maintenance.calc.deciding.compare import Surroundings, compare, frontier_table
from planning.calc.budget import Compared, Comparison, offers_of, worst_first

FUTURES = 16
HALF = 0.5
MOST = 0.85  # of what worst first costs in all


def main() -> int:
    """Print both; 1 where the choice is not clearly better."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--surfaces", type=int, default=40)
    parser.add_argument("--firm", action="store_true")
    asked = parser.parse_args()
    surfaces = compared(asked.seed, asked.surfaces, asked.firm)
    known = offers_of(surfaces).known
    free = choose_care(known, np.inf)
    assert free is not None
    money = HALF * free.cost
    chosen, worst = choose_care(known, money), worst_first(surfaces, money)
    assert chosen is not None
    ratio = (chosen.cost + chosen.below) / (worst.cost + worst.below)
    print(f"without a sum {free.cost:,.0f} a year and {free.below:,.0f} of time below; half of it:")
    print(f"chosen       {chosen.cost:,.0f} and {chosen.below:,.0f}")
    print(f"worst first  {worst.cost:,.0f} and {worst.below:,.0f}")
    total = free.cost + free.below
    lost = (chosen.cost + chosen.below - total) / (worst.cost + worst.below - total)
    print(f"more than the sum by {max(chosen.cost - money, 0.0):,.2f}")
    print(f"in all {ratio:.2f} of worst first; lost against no sum {lost:.2f} of it, at most {MOST}")
    return int(lost > MOST or chosen.cost > money)


def invented(seed: int, size: int) -> Fleet:
    """A firm of surfaces like the demo's, none of them one of the demo's."""
    rng = np.random.default_rng([seed, 2])
    kinds = [spec for site in SITES for spec in site.surfaces]
    drawn = [
        replace(
            kinds[int(rng.integers(len(kinds)))],
            area_m2=float(np.round(np.exp(rng.normal(6.6, 0.9)), -1) + 100.0),
            age_yr=float(rng.uniform(1.0, 14.0)),
            stress=float(np.exp(rng.normal(0.0, 0.3))),
            trees=bool(rng.random() < 0.3),
            routine=float(rng.choice([0.0, 0.0, 0.5, 1.0])),
        )
        for _ in range(size)
    ]
    return fleet_of(drawn, seed)


def compared(seed: int, size: int, firm: bool = False) -> list[Compared]:
    """What was compared for each surface, as the forecast does it."""
    found = (invented if firm else fleet)(seed, size)
    known, drawn = api.known_and_drawn(
        found.histories,
        api.prior_fit(),
        now_yr=list(found.now_yr),
        n_draws=FUTURES,
        rng=np.random.default_rng(seed),
    )
    return [_one(found, known, drawn, i) for i in range(len(found.specs))]


def _one(found: Fleet, known: api.Known, drawn: api.Drawn, i: int) -> Compared:
    at = np.array([i])
    one, case = known.columns(at), found.case.columns(at)
    futures = drawn.columns(np.arange(i * FUTURES, (i + 1) * FUTURES))
    area = float(found.area_m2[i])
    since = float(found.since_test[i])
    around = Surroundings(area, BELOW_PRICE_M2_YR, since, FIRST_STEP, (0.0, 0.0), False, i)
    comparison = compare(one, futures, case, frontier_table(one, case), around)
    stored = from_text(Comparison, json.dumps(to_payload(comparison)))
    return Compared(str(i), "", area, stored, {}, 0.0)


if __name__ == "__main__":
    sys.exit(main())
