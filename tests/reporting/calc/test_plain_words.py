"""How surfaces and sites stand, in sentences for people who do not know the trade."""

from dataclasses import replace
from datetime import date
from uuid import uuid4

import pytest

from core.calc.paving import SurfaceType
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.parts import Standing
from reporting.calc.plain_words import site_sentence, surface_sentence

BELOW, SOON, WATCH = SurfaceState.BELOW_LIMIT, SurfaceState.CLEAN_SOON, SurfaceState.WATCH
WELL, UNTESTED = SurfaceState.DRAINING, SurfaceState.NOT_TESTED


def surface(name="Yard", state=WELL, **more):
    plain = Standing(
        key=uuid4(),
        name=name,
        site="School",
        site_key=uuid4(),
        surface_type=SurfaceType.PICP,
        area_m2=100.0,
        opened_on=date(2024, 5, 1),
        opens_later=False,
        removed_on=None,
        limit_mm_h=250.0,
        state=state,
        rate_now_mm_h=900.0,
        below_50_on=None,
        today=date(2026, 6, 1),
    )
    return replace(plain, **more)


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (BELOW, "no longer soaks in fast enough"),
        (SOON, "a cleaning is due soon"),
        (WATCH, "keep an eye"),
        (WELL, "soaks in well"),
        (UNTESTED, "not been tested"),
    ],
)
def test_every_state_has_a_sentence_of_its_own(state, words):
    assert words in surface_sentence(surface(state=state))


def test_a_surface_that_is_not_open_or_was_removed_says_that_and_nothing_of_its_state():
    later = surface(state=BELOW, opens_later=True)
    gone = surface(state=BELOW, removed_on=date(2026, 3, 2))

    assert surface_sentence(later) == "It is not open yet: it opens on 1\u00a0May\u00a02024."
    assert surface_sentence(gone) == "It was removed on 2\u00a0Mar\u00a02026."


@pytest.mark.parametrize(
    ("states", "expected"),
    [
        ([WELL], "Rain soaks in well on the surface."),
        ([WELL] * 3, "Rain soaks in well on all 3 surfaces."),
        ([WELL, WATCH], "Rain soaks in fast enough on all 2 surfaces. We keep an eye on B."),
        ([SOON, WELL], "Rain soaks in fast enough on all 2 surfaces. A needs a cleaning soon."),
        ([BELOW], "Rain no longer soaks in fast enough on A."),
        ([BELOW, WELL], "Rain no longer soaks in fast enough on A; on the other surface it does."),
        (
            [BELOW, BELOW, WELL, WELL],
            "Rain no longer soaks in fast enough on A and B; on the other 2 surfaces it does.",
        ),
        (
            [BELOW, SOON, SOON],
            "Rain no longer soaks in fast enough on A; on the other 2 surfaces it does. "
            "B and C need a cleaning soon.",
        ),
        ([BELOW] * 4, "Rain no longer soaks in fast enough on 4 surfaces."),
        ([UNTESTED, UNTESTED], "A and B have not been tested yet."),
        ([WELL, UNTESTED], "Rain soaks in well on the surface that was tested. B has not been tested yet."),
        ([], "No surface is in use here yet."),
    ],
)
def test_a_site_says_the_worst_first_and_names_what_it_is_about(states, expected):
    surfaces = [surface(name, state) for name, state in zip("ABCD", states, strict=False)]

    assert site_sentence(surfaces) == expected


def test_surfaces_that_are_not_in_use_say_nothing():
    ahead = surface("A", BELOW, opens_later=True)
    gone = surface("B", BELOW, removed_on=date(2026, 3, 2))

    assert site_sentence([ahead, gone, surface("C")]) == "Rain soaks in well on the surface."


def test_the_next_day_on_which_somebody_comes_ends_the_sentence():
    said = site_sentence([surface()], date(2026, 6, 8))

    assert said == "Rain soaks in well on the surface. Our people come next on 8\u00a0Jun\u00a02026."
