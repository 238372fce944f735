"""The words of spots on a plan: none covers another, a ring or a corner's number, and each stays near its spot."""

from itertools import combinations
from math import cos, hypot, pi, sin
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from core.presentation.lettering import text_width
from qa.calc.counts import Zone
from qa.calc.outlines import SurfacePlan
from qa.presentation.drawing.places import Box, Room
from qa.presentation.drawing.plan import Mark, draw_plan
from qa.presentation.drawing.spot_labels import place_words

RADIUS, WIDTH, FLOOR = 8.0, 360.0, 400.0
SVG = "{http://www.w3.org/2000/svg}"
LABELS = st.sampled_from(["A", "12", "By the gate", "MMMMMMMMMMMMMMMMMMMM"])
NOTES = st.sampled_from(["", "250 mm/h", "over 12 000 mm/h", "under 0.15 in/h"])
SHARES = st.floats(0.05, 1)


@st.composite
def plans(draw):
    """Stars of up to twelve corners around the middle, from a few metres to hundreds, some sides with run-on."""
    reaches = draw(st.lists(SHARES, min_size=3, max_size=12))
    wide, high = draw(st.floats(2, 300)), draw(st.floats(2, 300))
    turns = [2 * pi * n / len(reaches) for n in range(len(reaches))]
    corners = tuple((wide * r * cos(t), high * r * sin(t)) for r, t in zip(reaches, turns, strict=True))
    return SurfacePlan(corners, draw(st.sampled_from([(), (0,), (0, 1)])), None)


@st.composite
def crowds(draw):
    """A plan with up to forty spots within its reach, often on the same place."""
    plan = draw(plans())
    xs, ys = zip(*plan.outline, strict=True)
    at = st.tuples(st.floats(min(xs), max(xs)), st.floats(min(ys), max(ys)))
    spots = draw(st.lists(st.tuples(LABELS, NOTES, at, st.sampled_from(Zone)), min_size=1, max_size=40))
    return plan, [Mark(label, zone, *at, note) for label, note, at, zone in spots]


def box_of(text):
    """The room of a line of text: from the top of its capitals to the foot of its tails."""
    size, content = float(text.get("font-size")), text.text
    width = text_width(content, size, bold=text.get("font-weight") == "700")
    back = {"end": width, "middle": width / 2}.get(text.get("text-anchor"), 0.0)
    return Box(float(text.get("x")) - back, float(text.get("y")) - 0.75 * size, width, 0.97 * size)


@settings(max_examples=60, deadline=None)
@given(crowds(), st.sampled_from(UnitSystem), st.booleans())
def test_no_text_of_a_plan_covers_another_or_leaves_the_picture(crowd, system, numbered):
    plan, marks = crowd

    drawn = ElementTree.fromstring(draw_plan(plan, marks, name="Yard", system=system, numbered=numbered))

    _, _, width, height = map(float, drawn.get("viewBox").split())
    boxes = {(text.text, n): box_of(text) for n, text in enumerate(drawn.iter(f"{SVG}text"))}
    assert [(a, b) for a, b in combinations(boxes, 2) if boxes[a].covers(boxes[b])] == []
    outside = [b for b in boxes.values() if b.left < 0 or b.top < 0 or b.right > width or b.bottom > height]
    assert outside == []


@settings(max_examples=60, deadline=None)
@given(crowds())
def test_no_words_cover_a_ring(crowd):
    plan, marks = crowd

    drawn = ElementTree.fromstring(draw_plan(plan, marks, name="Yard"))

    rings = [
        Box(float(c.get("cx")) - RADIUS, float(c.get("cy")) - RADIUS, 2 * RADIUS, 2 * RADIUS)
        for c in drawn.iter(f"{SVG}circle")
        if c.get("r") in ("8", "8.0")
    ]
    words = [box_of(text) for text in drawn.iter(f"{SVG}text")]
    assert len(rings) >= len(marks)
    assert not [word for word in words for ring in rings if word.covers(ring)]


def words_at(*spots):
    room = Room(WIDTH, FLOOR, [Box(x - RADIUS, y - RADIUS, 2 * RADIUS, 2 * RADIUS) for x, y in spots])
    return place_words([(f"S{n}", "250 mm/h", at) for n, at in enumerate(spots)], RADIUS, room)


def test_words_with_room_stand_beside_their_ring_on_the_side_with_more_room():
    near, far = words_at((60.0, 100.0), (320.0, 200.0))

    assert (near.box.left, near.anchor) == (60.0 + RADIUS + 4, "start")
    assert (far.box.right, far.anchor) == (320.0 - RADIUS - 4, "end")


def test_of_two_at_one_place_the_second_goes_to_the_other_side():
    first, second = words_at((180.0, 100.0), (180.0, 101.0))

    assert (first.anchor, second.anchor) == ("start", "end")


@pytest.mark.parametrize("spots", [3, 12, 40])
def test_words_stay_as_near_their_ring_as_the_crowd_lets_them(spots):
    crowd = words_at(*[(180.0, 200.0)] * spots)

    distances = [hypot(w.leader[0] - 180.0, w.leader[1] - 200.0) for w in crowd]
    assert distances[0] < 20
    assert max(distances) < 60 + 9 * spots


def test_where_the_drawing_is_full_words_stand_below_it():
    room = Room(WIDTH, 60.0)

    placed = [room.take([Box(10, 10, 200, 30)]) for _ in range(4)]

    assert not [pair for pair in combinations(placed, 2) if pair[0].covers(pair[1])]
    assert room.end == max(box.bottom for box in placed) > 60.0


def test_spots_within_a_metre_are_told_apart_on_a_large_plan():
    plan = SurfacePlan(((0, 0), (90, 0), (90, 60), (0, 60)), (), None)
    marks = [Mark(label, Zone.INTERIOR, 40.0 + n * 0.5, 30.0, "250 mm/h") for n, label in enumerate("ABCDE")]

    drawn = draw_plan(plan, marks, name="Yard", system=UnitSystem.SI)

    assert drawn.count("<line") >= 1  # those that gave way lead back to their spots
