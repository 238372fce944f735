"""All usual histories at once against each laid out by itself."""

import numpy as np
import pytest

from clogging.layout import flatten, lay_out
from clogging.packing import STEP_AT, history_steps
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.simulate import draw_plan, simulate, to_histories
from clogging.types import CleaningEvent, RoundEvent, SourceEvent, SpotTest
from core.errors import ImpossibleRecordError

from .worlds import BOUNDED, CHANGED, EMPTY, PLAIN, RICH, SPOTS, fixed, ring

RING = CHANGED._replace(events=tuple(e for e in CHANGED.events if getattr(e, "method", "ring") != "frame"))
MISSING = SPOTS._replace(events=(*SPOTS.events, fixed(5.0, a=900.0, c=700.0)))
OTHER_ORDER = SPOTS._replace(events=(SPOTS.events[0], fixed(1.0, c=5000.0, a=6000.0, b=4000.0)))
SEALED = SPOTS._replace(events=(*SPOTS.events, fixed(5.0, a=900.0, b=12.0, c=700.0)))
ONE_ORDER = SPOTS._replace(
    events=tuple(
        fixed(e.t_yr, **{t.location: t.rate_mm_h for t in sorted(e.tests, key=lambda t: t.location)})
        if isinstance(e, RoundEvent)
        else e
        for e in SPOTS.events
    )
)


def with_bounds(*bounds):
    """ONE_ORDER, the results of its rounds with bounds, one word of "=<>" a round."""
    signs = iter(bounds)

    def bounded(event):
        if not isinstance(event, RoundEvent):
            return event
        pairs = zip(event.tests, next(signs), strict=True)
        return event._replace(tests=tuple(test._replace(bound=sign) for test, sign in pairs))

    return ONE_ORDER._replace(events=tuple(bounded(event) for event in ONE_ORDER.events))


ONE_BOUND = with_bounds("===", "=>=", "===", "===", "===")
MANY_BOUNDS = with_bounds("=<>", ">=<", ">>=", "<<<", "><=")
SEALED_ONCE = ONE_ORDER._replace(
    events=(
        *ONE_ORDER.events,
        RoundEvent(
            5.0,
            "ring",
            tuple(
                SpotTest(rate, bound, name)
                for rate, bound, name in ((12.0, "=", "a"), (900.0, "=", "b"), (9.0, ">", "c"))
            ),
        ),
    )
)
ALL = [
    PLAIN,
    EMPTY,
    ONE_ORDER,
    RICH,
    RING,
    SPOTS,
    BOUNDED,
    MISSING,
    ONE_ORDER,
    OTHER_ORDER,
    SEALED,
    ONE_BOUND,
    MANY_BOUNDS,
    EMPTY,
    SEALED_ONCE,
    RING,
]


def test_every_history_is_laid_out_as_it_is_by_itself():
    table = flatten(ALL)

    for i, history in enumerate(ALL):
        alone = history_steps(history)
        mine = table.rows[table.first[i] : table.first[i + 1]]
        np.testing.assert_allclose(
            mine, np.array(alone.steps).reshape(-1, len(STEP_AT)), rtol=1e-12, atol=1e-14
        )
        np.testing.assert_allclose(table.spots[i], alone.spots, rtol=1e-12)
        assert table.offset_var[i] == alone.offset_var


def test_invented_portfolios_are_laid_out_as_each_surface_by_itself():
    rng = np.random.default_rng(3)
    histories = to_histories(simulate(rng, draw_plan(rng, 60, 8), to_params(PRIOR_MEAN)))

    table = flatten(histories)

    alone = np.concatenate([np.array(history_steps(h).steps) for h in histories])
    np.testing.assert_allclose(table.rows, alone, rtol=1e-12, atol=1e-13)


def test_what_is_usual_is_laid_out_at_once_and_nothing_else():
    usual = lay_out(ALL).usual

    expected = [history in (EMPTY, ONE_ORDER, RING, ONE_BOUND, MANY_BOUNDS, SEALED_ONCE) for history in ALL]
    assert usual.tolist() == expected


@pytest.mark.parametrize(
    "event",
    [
        RoundEvent(7.0, "ring", (SpotTest(30.0, "<"),)),
        RoundEvent(7.0, "frame", (SpotTest(300.0),)),
        RoundEvent(6.0, "ring", (SpotTest(300.0),)),
        RoundEvent(7.0, "ring", (SpotTest(17.9),)),
        RoundEvent(7.0, "ring", (SpotTest(300.0, "=", "a"), SpotTest(300.0, "=", "a"))),
        CleaningEvent(7.0, "vacuum", 1.5),
        CleaningEvent(7.0, "hope"),
        SourceEvent(7.0, "paused"),
        RoundEvent(5.0, "ring", (SpotTest(300.0),)),
        RoundEvent(float("nan"), "ring", (SpotTest(300.0),)),
        RoundEvent(7.0, "ring", (SpotTest(float("inf")),)),
        RoundEvent(7.0, "ring", ()),
        RoundEvent(7.0, "ring", (SpotTest(300.0, "~"),)),
        RoundEvent(7.0, "ring", (SpotTest(300.0, weight=2.0),)),
    ],
)
def test_one_unusual_event_leaves_its_history_to_be_laid_out_alone(event):
    usual = ring(6.0, 800.0, 900.0)
    histories = [RING, RING._replace(events=(usual, event)), RING]

    assert lay_out(histories).usual.tolist() == [True, False, True]


def spots(*rounds):
    """A history of rounds at named places; each round as pairs of a name and a rate."""
    events = tuple(
        RoundEvent(float(t), "ring", tuple(SpotTest(rate, "=", name) for name, rate in tests))
        for t, tests in enumerate(rounds, start=1)
    )
    return SPOTS._replace(events=events)


A, B, C = ("a", 6000.0), ("b", 4000.0), ("c", 2500.0)
PLACES = {
    "the same places each time": (spots([A, B], [("a", 3000.0), ("b", 2500.0)]), True),
    "one round alone": (spots([A, B]), False),
    "one place alone": (spots([A], [("a", 3000.0)], [("a", 2000.0)]), False),
    "a place more": (spots([A, B], [A, B, C]), False),
    "a place less": (spots([A, B, C], [A, B]), False),
    "another order": (spots([A, B], [B, A]), False),
    "a place twice": (spots([A, A], [A, A]), False),
    "a place without a name": (spots([A, ("", 900.0)], [A, ("", 800.0)]), False),
    "names given to some": (spots([A, ("", 900.0)], [A, B]), False),
    "no names at all": (spots([("", 900.0), ("", 700.0)], [("", 800.0)]), True),
}


@pytest.mark.parametrize("name", PLACES)
def test_fixed_places_are_laid_out_at_once_only_where_every_round_tests_the_same_ones(name):
    history, usual = PLACES[name]
    table = flatten([RING, history, RING])

    alone = history_steps(history)
    mine = table.rows[table.first[1] : table.first[2]]
    assert lay_out([RING, history, RING]).usual.tolist() == [True, usual, True]
    np.testing.assert_allclose(mine, np.array(alone.steps).reshape(-1, len(STEP_AT)), rtol=1e-12, atol=1e-14)
    np.testing.assert_allclose(table.spots[1], alone.spots, rtol=1e-12)


@pytest.mark.parametrize(
    "change",
    [
        {"surface_type": "lawn"},
        {"conditions": RING.conditions._replace(traffic=3)},
        {"conditions": RING.conditions._replace(run_on_ratio=-0.1)},
        {"conditions": RING.conditions._replace(run_on_ratio=float("inf"))},
        {"conditions": RING.conditions._replace(run_on_ratio=float("nan"))},
        {"events": (*RING.events, ring(0.0, 500.0))},
    ],
)
def test_a_surface_that_cannot_be_is_named_by_its_place_among_all(change):
    with pytest.raises(ImpossibleRecordError, match="Surface 1"):
        flatten([RING, RING._replace(**change), RING])
