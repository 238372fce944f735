"""The words of spots on a plan: none covers another, and each stays as near its spot as that lets it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from qa.calc.counts import Zone
from qa.calc.outlines import SurfacePlan
from qa.presentation.drawing.plan import Mark, draw_plan
from qa.presentation.drawing.spot_labels import apart, beside

RADIUS, WIDTH = 8.0, 360.0
PLACES = st.tuples(st.floats(34, 326), st.floats(30, 420))
NOTES = st.sampled_from(["", "250 mm/h", "over 12 000 mm/h"])


def words_of(spots):
    return [beside(f"S{n}", note, ring, RADIUS, WIDTH) for n, (ring, note) in enumerate(spots)]


def covers(one, other):
    (a, b), (c, d) = one.span, other.span
    return a < d and c < b and abs(one.y - other.y) < (one.height + other.height) / 2 - 1e-6


@given(st.lists(st.tuples(PLACES, NOTES), max_size=12))
def test_no_words_cover_others(spots):
    placed = apart(words_of(spots))

    pairs = [(a, b) for n, a in enumerate(placed) for b in placed[n + 1 :]]
    assert not [pair for pair in pairs if covers(*pair)]


@given(st.lists(st.tuples(PLACES, NOTES), max_size=12))
def test_each_keeps_its_spot_its_side_and_its_turn(spots):
    words = words_of(spots)
    placed = apart(words)

    assert [(each.label, each.ring, each.x) for each in placed] == [(w.label, w.ring, w.x) for w in words]


@pytest.mark.parametrize(("gap", "is_moved"), [(40.0, False), (2.0, True)])
def test_words_with_room_stay_and_others_have_a_line_to_their_spot(gap, is_moved):
    placed = apart(words_of([((100.0, 200.0 + n * gap), "250 mm/h") for n in range(3)]))

    assert (placed[0].is_moved, placed[2].is_moved) == (is_moved, is_moved)
    assert placed[0].y < placed[1].y < placed[2].y
    assert placed[1].y == pytest.approx(200.0 + gap)  # the middle one of three stays where it is


def test_words_beside_one_another_stay():
    words = words_of([((60.0, 100.0), ""), ((150.0, 100.0), "")])

    assert apart(words) == words


def test_spots_within_a_metre_are_told_apart_on_a_large_plan():
    plan = SurfacePlan(((0, 0), (90, 0), (90, 60), (0, 60)), (), None)
    marks = [Mark(label, Zone.INTERIOR, 40.0 + n * 0.5, 30.0, "250 mm/h") for n, label in enumerate("ABC")]

    drawn = draw_plan(plan, marks, name="Yard", system=UnitSystem.SI)

    assert drawn.count("<line") >= 2  # those that gave way lead back to their spots
