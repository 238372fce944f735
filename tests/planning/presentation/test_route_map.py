"""The map of a route: to scale, north up, and the same in words."""

import re
import xml.etree.ElementTree as ET
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.routing.travel import great_circle_km
from planning.presentation.flat_map import KM_PER_MI, flat_km
from planning.presentation.route_map import route_map

DEPOT = (50.0, 10.0)
STOPS = [("Yard", (50.05, 10.1)), ("School", (50.02, 10.15)), ("Mall", (49.95, 10.02))]
NEAR = st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))


def drawn(svg):
    return ET.fromstring(svg.replace("font-family", "data-f"))


def boxes(svg):
    """The middle of each mark, the depot first."""
    return [
        (float(r.get("x")) + float(r.get("width")) / 2, float(r.get("y")) + float(r.get("height")) / 2)
        for r in drawn(svg).iter("{http://www.w3.org/2000/svg}rect")
    ]


@given(st.floats(-60.0, 60.0), st.floats(-180.0, 180.0), st.lists(NEAR, min_size=1, max_size=6))
def test_distances_on_the_flat_are_those_on_the_globe_within_half_a_percent(lat, lon, shifts):
    places = [(lat, lon), *((lat + a, (lon + b + 180.0) % 360.0 - 180.0) for a, b in shifts)]
    km = flat_km(places)
    globe = great_circle_km([a for a, _ in places], [b for _, b in places])

    for i, (x, y) in enumerate(km):
        assert hypot(x, y) == pytest.approx(globe[0, i], rel=0.01, abs=0.01)


def test_north_is_up_and_east_is_right():
    made = route_map(DEPOT, [("North-east", (50.1, 10.2))], "si", key="k")
    (depot, stop) = boxes(made.svg)

    assert stop[0] > depot[0]
    assert stop[1] < depot[1]


def test_the_bar_is_as_long_as_it_says():
    made = route_map(DEPOT, STOPS, "si", key="k")
    depot, first, *_ = boxes(made.svg)
    km = great_circle_km([50.0, 50.05], [10.0, 10.1])[0, 1]
    said, bar = (
        re.search(r">([\d.]+) km<", made.svg),
        re.search(r"M34\.0 [\d.]+v10M34\.0 [\d.]+H([\d.]+)", made.svg),
    )

    per_km = (float(bar[1]) - 34.0) / float(said[1])
    assert hypot(first[0] - depot[0], first[1] - depot[1]) == pytest.approx(km * per_km, rel=0.01)


def test_it_says_in_words_what_it_shows_and_how_far_it_is():
    made = route_map(DEPOT, STOPS, "si", key="k")

    assert made.words.startswith("From the depot to 1 Yard, 2 School, 3 Mall, and back. ")
    assert made.words.split("back. ")[1].startswith("31.")
    assert drawn(made.svg).get("role") == "img"
    assert drawn(made.svg).find("{http://www.w3.org/2000/svg}desc").text == made.words


def test_miles_for_who_reads_miles():
    words = route_map(DEPOT, STOPS, "us", key="k").words

    assert float(re.search(r"([\d.]+) mi", words)[1]) == pytest.approx(31.9 / KM_PER_MI, rel=0.02)
    assert " km" not in words


def test_what_has_no_position_is_named_and_keeps_its_number():
    made = route_map(None, [("Lost", None), *STOPS], "si", key="k")

    assert made.missing == ("the depot", "Lost")
    assert "2 Yard" in made.words
    assert "Depot" not in made.svg


@pytest.mark.parametrize("stops", [[], [("Lost", None)], [("Depot's own yard", DEPOT)]])
def test_one_place_alone_is_no_map(stops):
    assert route_map(DEPOT, stops, "si", key="k").svg == ""


def test_stops_beside_one_another_share_a_mark():
    made = route_map(DEPOT, [("A", (50.1, 10.1)), ("B", (50.1001, 10.1001))], "si", key="k")

    assert ">1, 2<" in made.svg


def test_names_cannot_break_out_and_paper_has_plain_colours():
    made = route_map(DEPOT, [("<script>", (50.1, 10.1))], "si", key="k", for_paper=True)

    assert "<script>" not in made.svg
    assert "var(" not in made.svg
