"""How surfaces and sites stand, in sentences for people who do not know the trade."""

from dataclasses import replace
from datetime import date
from uuid import uuid4

import pytest

from core.calc.paving import SurfaceType
from maintenance.calc.vocabulary import Action, RecommendationStatus, SurfaceState
from reporting.calc.parts import AdvicePart, Standing
from reporting.calc.plain_words import surface_sentence
from reporting.calc.verdict import site_sentence

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


def advice_for(about, **more):
    return AdvicePart(
        key=uuid4(),
        title="Vacuum sweeping",
        due_on=date(2026, 7, 8),
        reasons=(),
        status=RecommendationStatus.OPEN,
        cost=None,
        surface=about,
        action=Action.CLEAN,
        **more,
    )


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
        ([WELL], "The surface drains well."),
        ([WELL] * 3, "All three surfaces drain well."),
        ([WELL, WATCH], "One of two surfaces drains well; one is nearing its limit."),
        (
            [BELOW, WELL, SOON],
            "One of three surfaces drains well; one is below its limit; one needs cleaning soon.",
        ),
        ([UNTESTED], "The surface is not tested yet."),
        ([], "No surface is in service at this site."),
    ],
)
def test_a_site_is_told_in_the_words_of_its_report(states, expected):
    surfaces = [surface(name, state) for name, state in zip("ABCD", states, strict=False)]

    assert site_sentence(surfaces) == expected


def test_a_surface_that_was_removed_says_nothing_of_the_site():
    gone = surface("B", BELOW, removed_on=date(2026, 3, 2))

    assert site_sentence([gone, surface("C")]) == "The surface drains well."


def test_what_was_released_is_said_with_its_day_and_what_was_not_is_not():
    below = surface("A", BELOW)
    released = advice_for(below, is_as_released=True)

    assert site_sentence([below], [released]) == (
        "The surface is below its limit; it should be cleaned by 8\u00a0Jul\u00a02026."
    )
    assert "cleaned" not in site_sentence([below], [replace(released, is_as_released=False)])
    assert "cleaned" not in site_sentence([below], [replace(released, surface=surface("B"))])


def test_the_next_day_on_which_somebody_comes_ends_the_sentence():
    said = site_sentence([surface()], next_visit_on=date(2026, 6, 8))

    assert said == "The surface drains well. Somebody comes next on 8\u00a0Jun\u00a02026."
