"""Programmes carried out on the futures of one surface, compiled: every line is one of `simulate`, `rule` or `table`.

Those are the reference that this must equal; it goes through the years of one future after the other, where numpy goes
through the futures of one step after the other. `compiled` decides when it is loaded.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from clogging.kernel import compiled, part, seldom
from clogging.kernel_futures import (
    Belief,
    Passing,
    Renewal,
    State,
    chance_below,
    cleaned,
    moved,
    sd_of,
    source_stopped,
    span_from_above,
    span_of_years,
    tested,
    truly_cleaned,
    truly_moved,
)
from maintenance.calc.deciding.handing_over import Lookup, Luck, Nature, Orders, Site, Span
from maintenance.calc.deciding.problem import FRESH_YR, RESTORES, Floats
from maintenance.calc.deciding.rule import JUST_TESTED_YR, LONGEST_UNTESTED_YR, NONE, SURE
from maintenance.calc.deciding.simulate import Outcome
from maintenance.calc.deciding.table import DONE_BELOW

_RESTORES = tuple(RESTORES.tolist())


class Weighed(NamedTuple):
    """As in `rule`, of one surface: the method that saves most, what it saves; what a test saves; the chance."""

    best: int
    gain: float
    test_saves: float
    chance: float


@part
def _place(value: float, nodes: Floats) -> tuple[int, float]:
    """As `table._place`."""
    low = 0
    while low < nodes.size - 2 and value >= nodes[low + 1]:
        low += 1
    along = (value - nodes[low]) / (nodes[low + 1] - nodes[low])
    return low, min(max(along, 0.0), 1.0)


@seldom
def _costs(table: Lookup, level: int, step: int, known: Belief, log_limit: float, costs: Floats) -> None:
    """As `Table.costs`, into costs (A + 2,)."""
    place = (known.x - log_limit - table.lowest) / table.width
    place = min(max(place, 0.0), table.points - 1 - 1e-9)
    h = int(place)
    sd = sd_of(known)
    c, c_part = _place(known.b - log_limit, table.room)
    d, d_part = _place(sd * sd, table.variances)
    g, g_part = _place(known.lam, table.declines)
    costs[:] = 0.0
    values = table.values[step]
    for i in range(2):
        by_g = g_part if i else 1.0 - g_part
        for j in range(2):
            by_c = by_g * (c_part if j else 1.0 - c_part)
            for k in range(2):
                by_d = by_c * (d_part if k else 1.0 - d_part)
                first = (
                    ((g + i) * table.room.size + c + j) * table.variances.size + d + k
                ) * table.points + h
                for m in range(2):
                    weight = by_d * (place - h if m else 1.0 - (place - h))
                    row = values[(first + m) * table.levels + level]
                    for a in range(costs.size):
                        costs[a] += weight * row[a]


@part
def _weigh(table: Lookup, site: Site, level: int, step: int, known: Belief, costs: Floats) -> Weighed:
    """As `rule.weigh`."""
    _costs(table, level, step, known, site.log_limit, costs)
    waiting, tested_cost = costs[-2], costs[-1]
    least, best, gain = waiting, 0, -np.inf
    for a in range(table.methods.size):
        least = min(least, costs[a])
        if costs[a] < DONE_BELOW and waiting - costs[a] > gain:
            best, gain = table.methods[a], waiting - costs[a]
    return Weighed(best, gain, least - tested_cost, chance_below(known, site.log_limit))


@part
def _wants_fresh_test(weighed: Weighed, site: Site, since_test_yr: float) -> bool:
    """As `rule.wants_fresh_test`."""
    dear = _RESTORES[weighed.best] and site.cleaning[weighed.best] > site.ask_first
    return weighed.gain > 0.0 and dear and since_test_yr > FRESH_YR


@part
def _is_worth_testing(weighed: Weighed, since_test_yr: float) -> bool:
    """As `rule.should_test`, seasons and fresh tests left out."""
    worth = weighed.test_saves > 0.0 and since_test_yr >= JUST_TESTED_YR - 1e-9
    worth = worth and weighed.chance >= SURE and weighed.chance <= 1.0 - SURE
    return worth or since_test_yr >= LONGEST_UNTESTED_YR


@part
def _is_testing(
    orders: Orders, p: int, site: Site, step: int, weighed: Weighed, since_test_yr: float
) -> bool:
    """Whether a programme has a test made now."""
    if not site.testable[step]:
        return False
    if since_test_yr >= orders.test_every_yr[p] - 1e-9:
        return True
    if not orders.decides[p]:
        return False
    asked = orders.tests_when_due[p] and _is_worth_testing(weighed, since_test_yr)
    return asked or _wants_fresh_test(weighed, site, since_test_yr)


@part
def _method_now(
    orders: Orders,
    p: int,
    site: Site,
    step: int,
    year: int,
    known: Belief,
    weighed: Weighed,
    since_test_yr: float,
) -> int:
    """What a programme uses in this step, -1 for nothing."""
    if orders.decides[p]:
        if weighed.gain <= 0.0 or _wants_fresh_test(weighed, site, since_test_yr):
            return NONE
        return weighed.best
    strong = orders.restore_with[p]
    if (
        strong >= 0
        and site.workable[strong, step]
        and chance_below(known, site.log_limit) >= orders.chance[p]
    ):
        return int(strong)
    if orders.swept[step, p] and orders.in_year[year, p]:
        return int(orders.sweep_with[p])
    return NONE


@part
def _renewal(nature: Nature, f: int, method: int) -> Renewal:
    row = nature.given[f, method]
    return Renewal(row[0], row[1], row[2], row[3], row[4])


@part
def _span(nature: Nature, f: int, usual: Passing, years: float, above: float, lam: float) -> Passing:
    """As `decline.passage_ahead`; usual: of a surface that does not stand above the rate as new."""
    if nature.kappa[f] < 0.0 and above > 0.0:
        return span_from_above(nature.kappa[f], nature.gamma[f], nature.drift_var[f], years, above, lam)
    return usual


@part
def _usual(nature: Nature, f: int, years: float) -> Passing:
    return span_of_years(nature.kappa[f], nature.gamma[f], nature.drift_var[f], years)


@compiled
def carry_out(
    site: Site,
    mean: Floats,
    cov: Floats,
    own: Nature,
    state: Floats,
    true: Nature,
    luck: Luck,
    orders: Orders,
    table: Lookup,
    span: Span,
    out: Outcome,
) -> None:
    """Every programme on every future, column p * F + f of `out`, which holds zeros, NONE and infinity.

    mean (3,), cov (3, 3), own: what is known; state (3, F), true: the futures.
    """
    futures, costs = state.shape[1], np.empty(table.methods.size + 2)
    for p in range(orders.decides.size):
        known = Belief(
            mean[0], mean[1], mean[2], cov[0, 0], cov[0, 1], cov[0, 2], cov[1, 1], cov[1, 2], cov[2, 2]
        )
        if orders.stop_source[p]:
            known = source_stopped(known, own.source_factor[0], own.source_sd[0])
        for f in range(futures):
            lam = state[2, f]
            if orders.stop_source[p]:
                lam = true.source_factor[f] * lam + true.source_sd[f] * luck.source[f]
            at = State(state[0, f], state[1, f], lam)
            _live_through(site, known, own, at, true, luck, orders, table, span, out, p, f, costs)


@seldom
def _live_through(
    site: Site,
    known: Belief,
    own: Nature,
    at: State,
    true: Nature,
    luck: Luck,
    orders: Orders,
    table: Lookup,
    span: Span,
    out: Outcome,
    p: int,
    f: int,
    costs: Floats,
) -> None:
    """One programme on one future."""
    n_steps, column, since = site.testable.size, p * true.kappa.size + f, span.since_test_yr
    years = 1.0 / n_steps
    own_usual, true_usual = _usual(own, 0, years), _usual(true, f, years)
    weighed = Weighed(0, -np.inf, 0.0, 0.0)
    for t in range(span.years * n_steps):
        year, step, method = t // n_steps, (span.first_step + t) % n_steps, NONE
        if t > span.opening_step:
            if orders.decides[p]:
                weighed = _weigh(table, site, orders.price_level[p], step, known, costs)
            if _is_testing(orders, p, site, step, weighed, since):
                read = at.x + math.sqrt(true.noise_var[f]) * luck.reading[t, f]
                known, since = tested(known, read, own.noise_var[0]), 0.0
                out.tests[year, column] += site.test
                out.rounds[column] += 1
                if orders.decides[p]:
                    weighed = _weigh(table, site, orders.price_level[p], step, known, costs)
            method = _method_now(orders, p, site, step, year, known, weighed, since)
        elif t == span.opening_step:
            method = orders.opening[p]
        if method >= 0:
            at = truly_cleaned(at, method, _renewal(true, f, method), luck.new[t, f], luck.cleaning[t, f])
            known = cleaned(known, method, _renewal(own, 0, method))
            _note(out, site, method, year, column, t * years)
        before = _below(at, site)
        at = truly_moved(at, _span(true, f, true_usual, years, at.x - at.b, at.lam), luck.waiting[t, f])
        out.below_yr[year, column] += 0.5 * years * (before + _below(at, site))
        known = moved(known, _span(own, 0, own_usual, years, known.x - known.b, known.lam))
        since += years


@part
def _below(at: State, site: Site) -> float:
    """1 below the limit, 0 else."""
    return 1.0 if at.x < site.log_limit else 0.0


@part
def _note(out: Outcome, site: Site, method: int, year: int, column: int, now_yr: float) -> None:
    out.works[year, column] += site.cleaning[method]
    out.cleanings[method, column] += 1
    if math.isinf(out.first_yr[column]):
        out.first[column], out.first_yr[column] = method, now_yr
