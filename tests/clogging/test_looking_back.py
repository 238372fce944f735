"""What past cleanings gave and where past rounds fell, by a plain search and by the joint normal of all tests."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from scipy.stats import norm

from clogging import api
from clogging.hindcast import MEASURED_WITHIN_YR, check_rounds, expected_round, measure_gains
from clogging.trajectory import run_surface, smooth_run
from tests.clogging.worlds import CHANGED, PLAIN, RICH, SPOTS, DenseWorld, ring, some_params

FEW = hypothesis_settings(max_examples=30)
RATES = st.floats(100.0, 12_000.0)
METHODS = st.sampled_from(["ring", "frame"])


@st.composite
def rounds(draw, t_yr):
    tests = [api.SpotTest(draw(RATES), draw(st.sampled_from("===<"))) for _ in range(draw(st.integers(1, 2)))]
    return api.RoundEvent(t_yr, draw(METHODS), tuple(tests))


@st.composite
def histories(draw):
    """Rounds and cleanings close enough to each other that several lie within a year of a cleaning."""
    t, events = 0.0, []
    for _ in range(draw(st.integers(1, 8))):
        t += draw(st.floats(0.01, 0.9))
        if draw(st.integers(0, 2)):
            events.append(draw(rounds(t)))
        else:
            events.append(api.CleaningEvent(t, draw(st.sampled_from(["vacuum", "mill"]))))
    return api.SurfaceHistory("picp", api.Conditions(), tuple(events))


def gains_of(history):
    run = run_surface(history, some_params())
    return measure_gains(run, smooth_run(run), history)


def pairs_about(history, at):
    """Every pair of rounds about a cleaning that compares: one method, a year at most, no other cleaning between."""
    events, day = history.events, history.events[at].t_yr
    near = [
        i
        for i, event in enumerate(events)
        if isinstance(event, api.RoundEvent) and abs(event.t_yr - day) <= MEASURED_WITHIN_YR
    ]
    cleaned = {i for i, event in enumerate(events) if isinstance(event, api.CleaningEvent)}
    return [
        (before, after)
        for before in near
        for after in near
        if before < at < after
        and events[before].method == events[after].method
        and cleaned.isdisjoint(set(range(before, after + 1)) - {at})
    ]


def log_mean(event):
    return np.mean([np.log(test.rate_mm_h) for test in event.tests])


@FEW
@given(histories())
def test_a_gain_is_measured_between_the_nearest_rounds_that_compare(history):
    for gain in gains_of(history):
        pairs = pairs_about(history, gain.event)
        nearest = [(b, a) for b, a in pairs if a - b == min(last - first for first, last in pairs)]
        readable = [
            (b, a)
            for b, a in nearest
            if all(test.bound == "=" for at in (b, a) for test in history.events[at].tests)
        ]

        if gain.measured_factor is None:
            assert len(readable) < len(nearest) or not pairs
            continue
        times = [(history.events[b].t_yr, history.events[a].t_yr) for b, a in readable]
        at = times.index((gain.before_yr, gain.after_yr))
        before, after = (log_mean(history.events[i]) for i in readable[at])
        assert gain.measured_factor == pytest.approx(np.exp(after - before))


@FEW
@given(histories())
def test_there_is_one_gain_a_cleaning_and_one_check_a_round_in_their_order(history):
    gains, checks = gains_of(history), check_rounds(run_surface(history, some_params()), history)

    kinds = [type(event) for event in history.events]
    assert [gain.event for gain in gains] == [i for i, k in enumerate(kinds) if k is api.CleaningEvent]
    assert [check.event for check in checks] == [i for i, k in enumerate(kinds) if k is api.RoundEvent]
    assert [check.n_tests for check in checks] == [len(history.events[c.event].tests) for c in checks]


@pytest.mark.parametrize(("years", "measured"), [(1.0, True), (1.001, False)])
def test_a_round_a_year_away_still_shows_the_cleaning_and_a_later_one_does_not(years, measured):
    events = (ring(2.0, 1000.0), api.CleaningEvent(2.0, "vacuum"), ring(2.0 + years, 2000.0))

    (gain,) = gains_of(api.SurfaceHistory("picp", api.Conditions(), events))

    assert (gain.measured_factor is not None) == measured
    if measured:
        assert gain.measured_factor == pytest.approx(2.0)


def test_a_round_that_is_only_bounded_tells_no_factor():
    bound = api.RoundEvent(2.1, "ring", (api.SpotTest(2000.0), api.SpotTest(9000.0, ">")))
    events = (ring(1.9, 1000.0), api.CleaningEvent(2.0, "vacuum"), bound)

    (gain,) = gains_of(api.SurfaceHistory("picp", api.Conditions(), events))

    assert (gain.measured_factor, gain.before_yr, gain.after_yr) == (None, None, None)
    assert gain.factor.lo95 < gain.factor.median < gain.factor.hi95


def test_between_two_cleanings_without_a_round_neither_is_measured():
    events = (
        ring(1.9, 1000.0),
        api.CleaningEvent(2.0, "vacuum"),
        api.CleaningEvent(2.1, "mill"),
        ring(2.2, 5000.0),
    )

    gains = gains_of(api.SurfaceHistory("picp", api.Conditions(), events))

    assert [gain.measured_factor for gain in gains] == [None, None]


def cut_before(history, at):
    """The history up to and with an event."""
    return history._replace(events=history.events[: at + 1])


def foretold(history, at, params):
    """Mean and variance of the mean log result of a round given all tests before it, by the joint normal."""
    world = DenseWorld(cut_before(history, at), params)
    n = len(history.events[at].tests)
    mean, cov = world.tests()
    values = np.array(world.values)
    seen, new = slice(0, len(values) - n), slice(len(values) - n, len(values))
    weights = np.linalg.solve(cov[seen, seen], cov[seen, new]).T if seen.stop else np.zeros((n, 0))
    its_mean = mean[new] + weights @ (values[seen] - mean[seen])
    its_cov = cov[new, new] - weights @ cov[seen, new]
    return its_mean.mean(), its_cov.mean()


STORIES = {"plain": PLAIN, "rich": RICH, "spots": SPOTS, "changed": CHANGED}


@pytest.mark.parametrize("name", STORIES)
def test_every_round_is_expected_as_the_joint_normal_of_all_before_it_has_it(name):
    """A test counts as a test, so that the mean of a round is that of its results, wherever they were taken."""
    history, params = STORIES[name], some_params()
    run = run_surface(history, params)

    for at, event in enumerate(history.events):
        if not isinstance(event, api.RoundEvent):
            continue
        mean, var = foretold(history, at, params)
        expected = expected_round(run, at)
        assert expected.found == pytest.approx(log_mean(event))
        assert expected.mean[0] == pytest.approx(mean, abs=1e-8)
        assert expected.sd[0] == pytest.approx(np.sqrt(var), rel=1e-7)


@pytest.mark.parametrize("name", STORIES)
def test_the_place_of_a_round_in_its_forecast_is_the_normals_chance_of_less(name):
    history, params = STORIES[name], some_params()

    for check in check_rounds(run_surface(history, params), history):
        mean, var = foretold(history, check.event, params)
        below = norm.cdf(np.log(check.measured_mm_h), mean, np.sqrt(var))
        assert check.pit_lo == check.pit_hi == pytest.approx(below, abs=1e-7)
        assert check.expected_mm_h.median == pytest.approx(np.exp(mean), rel=1e-4)


@pytest.mark.parametrize(
    ("bounds", "open_below", "open_above"),
    [("=<", True, False), ("=>", False, True), ("<>", True, True), ("==", False, False)],
)
def test_an_inequality_leaves_the_place_open_on_its_side(bounds, open_below, open_above):
    tests = tuple(api.SpotTest(3000.0, bound) for bound in bounds)
    history = api.SurfaceHistory("picp", api.Conditions(), (api.RoundEvent(1.0, "ring", tests),))

    (check,) = check_rounds(run_surface(history, some_params()), history)

    assert (check.pit_lo == 0.0) == open_below
    assert (check.pit_hi == 1.0) == open_above
    assert check.measured_mm_h == pytest.approx(3000.0)


def test_a_factor_of_a_cleaning_lies_between_what_was_measured_and_what_its_kind_gives():
    """The more rounds stand on both sides, the nearer it comes to what they show."""
    params = some_params()
    events = (api.CleaningEvent(2.0, "vacuum"),)
    bare = api.SurfaceHistory("picp", api.Conditions(), events)

    def median(n):
        rates = [2000.0] * n, [6000.0] * n
        told = bare._replace(events=(ring(2.0, *rates[0]), *events, ring(2.0, *rates[1])))
        run = run_surface(told, params)
        return measure_gains(run, smooth_run(run), told)[0].factor.median

    few, many = median(1), median(40)

    assert 1.0 < few < many < 3.0
