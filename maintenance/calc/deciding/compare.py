"""Ways of caring for one surface, carried out side by side on the same futures drawn from what is known of it."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from clogging.api import CLEANING_METHODS, Drawn, Known
from core.calc.paving import CleaningMethod
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome, CareYear, Spread, Use
from maintenance.calc.deciding import compiled
from maintenance.calc.deciding.handing_over import Span
from maintenance.calc.deciding.problem import RESTORES, Case, Floats
from maintenance.calc.deciding.programmes import NOTHING, Programme, orders
from maintenance.calc.deciding.rule import weigh
from maintenance.calc.deciding.simulate import Guide, ModelWorld, Opening, Outcome, simulate, totals
from maintenance.calc.deciding.table import Table, solve

YEARS, SHOWN_YEARS = 20, 10
FRONTIER = (0.1, 0.4, 1.0, 2.5, 8.0)  # prices of time below on the frontier, times the one that is asked
OWN_LEVEL = FRONTIER.index(1.0)
DOUBT = 0.20  # the chance of being below at which the stronger method of a calendar is used; our judgement
SWEEPERS = (CleaningMethod.VACUUM, CleaningMethod.REGEN_AIR, CleaningMethod.BROOM)
LEAST_USE_A_YEAR = 0.01
CLEARLY = 2.0  # standard errors of a mean difference

Named = tuple[CareKind, Programme]


class Surroundings(NamedTuple):
    """What is compared on one surface besides what is known of it.

    worth_m2_yr: price of a year below the limit, a square metre; since_test_yr: infinite for no test
    first_step: of the year; agreed: sweepings and tests a year, 0 for none; has_source: whether sediment keeps coming
    seed: of the futures' luck
    """

    area_m2: float
    worth_m2_yr: float
    since_test_yr: float
    first_step: int
    agreed: tuple[float, float]
    has_source: bool
    seed: int


def price_levels(case: Case) -> Floats:
    """(W, S) prices of a year below the limit along the frontier."""
    return np.asarray(FRONTIER)[:, None] * case.prices.below


def candidates(case: Case, around: Surroundings) -> list[Named]:
    """The programmes worth comparing on one surface."""
    rule = Programme(worth_m2_yr=around.worth_m2_yr, tests_when_due=True)
    named: list[Named] = [(CareKind.NOTHING, NOTHING), (CareKind.ADVISED, rule)]
    for factor in FRONTIER:
        if factor != 1.0:
            kind = CareKind.LESS if factor < 1.0 else CareKind.MORE
            worth = around.worth_m2_yr * factor
            named.append((kind, Programme(worth_m2_yr=worth, tests_when_due=True)))
    named.append((CareKind.UNTESTED, Programme(worth_m2_yr=around.worth_m2_yr)))
    named += _calendars(case, around)
    if around.has_source:
        stopped = Programme(worth_m2_yr=around.worth_m2_yr, tests_when_due=True, stop_source=True)
        named.append((CareKind.SOURCE, stopped))
    return named


def _calendars(case: Case, around: Surroundings) -> list[Named]:
    """Sweepings by the calendar, with a stronger method besides, and what was agreed, which may be tests alone."""
    sweeper = next((m for m in SWEEPERS if _is_offered(case, m)), None)
    stronger = _cheapest_restoring(case)
    named = [(CareKind.CALENDAR, Programme(count, sweeper)) for count in (1.0, 2.0) if sweeper]
    if sweeper and stronger:
        named.append((CareKind.STRONGER, Programme(1.0, sweeper, DOUBT, stronger, test_every_yr=2.0)))
    sweepings, tests = around.agreed if sweeper else (0.0, around.agreed[1])
    if sweepings or tests:
        every = 1.0 / tests if tests else None
        agreed = Programme(sweepings, sweeper if sweepings else None, test_every_yr=every)
        named.append((CareKind.AGREED, agreed))
    return named


def _is_offered(case: Case, method: CleaningMethod) -> bool:
    m = CLEANING_METHODS.index(method)
    return bool(np.isfinite(case.prices.cleaning[m, 0]) and case.workable[m, :, 0].any())


def _cheapest_restoring(case: Case) -> CleaningMethod | None:
    able = [CleaningMethod(m) for i, m in enumerate(CLEANING_METHODS) if RESTORES[i]]
    offered = [m for m in able if _is_offered(case, m)]
    return min(offered, key=lambda m: case.prices.cleaning[CLEANING_METHODS.index(m), 0], default=None)


def frontier_table(known: Known, case: Case) -> Table:
    """The table of one surface for every price of time below along the frontier."""
    by = compiled.settle if compiled.is_worth_loading() else None
    return solve(known, case, below=price_levels(case), by=by)


def compare(known: Known, drawn: Drawn, case: Case, table: Table, around: Surroundings) -> CareComparison:
    """Every candidate carried out on the same futures. known, case: of the one surface; drawn: (F,) true ones."""
    named, futures = candidates(case, around), drawn.state.shape[1]
    levels = [_level_of(programme, around) for _, programme in named]
    done = carry_out([programme for _, programme in named], levels, (known, drawn, case, table), around)
    below = np.full(len(named) * futures, around.worth_m2_yr * around.area_m2)
    cost = totals(done, below, SHOWN_YEARS).reshape(len(named), futures)
    suggested = _suggested([kind for kind, _ in named], cost)
    found = CareComparison(around.worth_m2_yr, futures, suggested, _outcomes(named, done, below, futures))
    acts = acts_below_mm_h(known, case, table, around.first_step, level_of_chosen(found))
    return replace(found, acts_below_mm_h=acts)


def carry_out(
    programmes: Sequence[Programme],
    levels: Sequence[int],
    on: tuple[Known, Drawn, Case, Table],
    around: Surroundings,
    opening: Opening | None = None,
) -> Outcome:
    """P programmes on the same F futures of one surface, P * F columns. levels: the price of time each decides by;
    opening: what each begins with, (P,).
    """
    known, drawn, case, table = on
    if compiled.is_worth_loading():
        begins = -1 if opening is None else opening.step
        span = Span(YEARS, around.first_step, begins, around.since_test_yr)
        return compiled.carry_out(programmes, levels, on, span, around.seed, opening)
    futures = drawn.state.shape[1]
    n = len(programmes) * futures
    zero = np.zeros(n, dtype=np.int64)
    given = [programme for programme in programmes for _ in range(futures)]
    return simulate(
        ModelWorld(drawn.columns(np.tile(np.arange(futures), len(programmes))), around.seed, len(programmes)),
        known.columns(zero),
        case.columns(zero),
        orders(given, np.full(n, around.area_m2), CLEANING_METHODS),
        Guide(table, zero, np.repeat(levels, futures)),
        since_test_yr=np.full(n, around.since_test_yr),
        years=YEARS,
        first_step=around.first_step,
        opening=opening and Opening(np.repeat(opening.method, futures), opening.step),
    )


def _level_of(programme: Programme, around: Surroundings) -> int:
    if programme.worth_m2_yr is None or around.worth_m2_yr <= 0.0:
        return OWN_LEVEL
    return int(np.abs(np.asarray(FRONTIER) - programme.worth_m2_yr / around.worth_m2_yr).argmin())


def _suggested(kinds: Sequence[CareKind], cost: Floats) -> int:
    """Where the cheapest in all stands, of nothing, the rule without tests, and the rule with more or less care.

    The rule decides by what is expected; where the futures say clearly that another measure of care costs less at the
    price that is asked, as on surfaces whose cleanings are in doubt, that one is suggested. cost: (P, F) of each
    programme on each future; CLEARLY keeps their luck from deciding.
    """
    rivals = (CareKind.NOTHING, CareKind.UNTESTED, CareKind.LESS, CareKind.MORE)
    own = kinds.index(CareKind.ADVISED)
    others = [i for i, kind in enumerate(kinds) if kind in rivals]
    best = min(others, key=lambda i: float(cost[i].mean()))
    saved = cost[own] - cost[best]
    if kinds[best] in (CareKind.NOTHING, CareKind.UNTESTED):
        return best if saved.mean() >= 0.0 else own
    doubt = saved.std(ddof=1) / np.sqrt(saved.size) if saved.size > 1 else np.inf
    return best if saved.mean() > CLEARLY * doubt else own


def level_of_chosen(compared: CareComparison) -> int:
    """Which price of time below along the frontier the suggested programme decides by."""
    worth = compared.chosen.programme.worth_m2_yr
    if worth is None or compared.below_price_m2_yr <= 0.0:
        return OWN_LEVEL
    return int(np.abs(np.asarray(FRONTIER) - worth / compared.below_price_m2_yr).argmin())


def _outcomes(named: Sequence[Named], done: Outcome, below: Floats, futures: int) -> tuple[CareOutcome, ...]:
    free = np.zeros_like(below)
    sums = {
        (years, priced): totals(done, below if priced else free, years).reshape(-1, futures).mean(1)
        for years in (SHOWN_YEARS, YEARS)
        for priced in (False, True)
    }
    cost = (done.works + done.tests)[:SHOWN_YEARS].reshape(SHOWN_YEARS, -1, futures)
    spreads = _spreads(np.concatenate([cost, cost.mean(0)[None]]))
    return tuple(
        _outcome(
            name,
            done,
            slice(i * futures, (i + 1) * futures),
            {key: float(total[i]) for key, total in sums.items()},
            spreads[i],
        )
        for i, name in enumerate(named)
    )


def _spreads(cost: Floats) -> list[list[Spread]]:
    """Of (K, P, F) costs over their futures, K of each programme."""
    found = np.concatenate([cost.mean(2)[None], np.quantile(cost, (0.1, 0.9), axis=2)])
    of_programmes = np.moveaxis(found, 2, 0).tolist()
    return [
        [Spread(*(round(value, 2) for value in one)) for one in zip(*each, strict=True)]
        for each in of_programmes
    ]


def _outcome(
    named: Named, done: Outcome, at: slice, sums: dict[tuple[int, bool], float], spreads: Sequence[Spread]
) -> CareOutcome:
    """spreads: of the cost in each year shown, and of all of them on average."""
    kind, programme = named
    below = done.below_yr[:SHOWN_YEARS, at]
    first, first_yr = _first(done, at)
    *by_year, a_year = spreads
    return CareOutcome(
        kind=kind,
        programme=programme,
        cost_a_year=a_year,
        months_below=round(12.0 * float(below.mean()), 3),
        share_within=round(1.0 - float(below.mean()), 4),
        chance_within=round(float((below.sum(0) == 0.0).mean()), 3),
        spent_10=round(sums[SHOWN_YEARS, False], 2),
        spent_20=round(sums[YEARS, False], 2),
        total_10=round(sums[SHOWN_YEARS, True], 2),
        total_20=round(sums[YEARS, True], 2),
        uses=_uses(done, at),
        tests_a_year=round(float(done.rounds[at].mean()) / YEARS, 3),
        first=first,
        first_yr=first_yr,
        by_year=tuple(
            CareYear(money, round(12.0 * share, 2))
            for money, share in zip(by_year, below.mean(1).tolist(), strict=True)
        ),
    )


def _uses(done: Outcome, at: slice) -> tuple[Use, ...]:
    a_year = done.cleanings[:, at].mean(1) / YEARS
    used = np.flatnonzero(a_year >= LEAST_USE_A_YEAR)
    return tuple(Use(CleaningMethod(CLEANING_METHODS[m]), round(float(a_year[m]), 3)) for m in used)


def _first(done: Outcome, at: slice) -> tuple[CleaningMethod | None, float | None]:
    """The method that most futures use first within the years shown, and when on average."""
    soon = done.first_yr[at] < SHOWN_YEARS
    if 2 * soon.sum() < soon.size:
        return None, None
    methods = done.first[at][soon]
    method = int(np.bincount(methods).argmax())
    when = done.first_yr[at][soon][methods == method].mean()
    return CleaningMethod(CLEANING_METHODS[method]), round(float(when), 2)


def acts_below_mm_h(
    known: Known, case: Case, table: Table, step: int, level: int = OWN_LEVEL
) -> float | None:
    """The rate of one surface from which down a cleaning pays in this step; None where none does at any rate."""
    _, b, lam = known.mean[:, 0]
    margins = np.linspace(b - case.log_limit[0], table.grid.lowest[0], 300)
    at = np.zeros(margins.size, dtype=np.int64)
    x = case.log_limit[0] + margins
    tried = known.columns(at)._replace(mean=np.stack([x, np.full_like(x, b), np.full_like(x, lam)]))
    pays = weigh(tried, case.columns(at), table, (at, at + level), step).pays
    if not pays.any():
        return None
    return float(np.exp(case.log_limit[0] + margins[int(pays.argmax())]))
