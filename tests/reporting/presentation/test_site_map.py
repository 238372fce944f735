"""A map of sites: where each lies, how it is told apart, and that names keep clear of one another."""

import re
from itertools import combinations
from uuid import UUID
from xml.etree import ElementTree

import pytest

from core.presentation.lettering import text_width
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.portfolio_snapshot import MapSite
from reporting.presentation.site_map import LETTERS, WIDTH, site_map

SVG = "{http://www.w3.org/2000/svg}"


def site(number, latitude=51.0, longitude=6.0, state=SurfaceState.DRAINING, name=""):
    return MapSite(UUID(int=number), name or f"Site {number}", latitude, longitude, state, 2)


def drawn(*sites, units="si"):
    addresses = {one.key: f"/sites/{one.key}/" for one in sites}
    return ElementTree.fromstring(site_map(sites, units, addresses).svg)


def marks(svg):
    return {link.get("aria-label").split(":")[0]: link for link in svg.iter(f"{SVG}a")}


def place(link):
    circle = link.find(f"{SVG}circle")
    return float(circle.get("cx")), float(circle.get("cy"))


def test_without_a_site_there_is_no_map():
    assert site_map([], "si", {}).svg == ""


def test_each_site_is_a_link_that_says_its_name_and_how_it_stands():
    svg = drawn(site(1, state=SurfaceState.BELOW_LIMIT), site(2, latitude=51.01))

    link = marks(svg)["Site 1"]
    assert link.get("href") == f"/sites/{UUID(int=1)}/"
    assert link.get("aria-label") == link.find(f"{SVG}title").text == "Site 1: below limit, 2 surfaces"
    assert svg.get("role") == "group"  # an image would hide its links


def test_north_is_up_and_east_to_the_right():
    svg = drawn(site(1), site(2, latitude=51.02), site(3, longitude=6.05))

    (x1, y1), (x2, y2), (x3, y3) = (place(marks(svg)[f"Site {n}"]) for n in (1, 2, 3))
    assert y2 < y1
    assert x3 > x1
    assert (x2, y3) == (pytest.approx(x1, abs=0.1), pytest.approx(y1, abs=0.1))


def test_a_degree_of_longitude_is_shorter_than_one_of_latitude_by_the_cosine():
    svg = drawn(site(1, 60.0, 6.0), site(2, 60.01, 6.0), site(3, 60.0, 6.01))

    (x1, y1), (_, y2), (x3, _) = (place(marks(svg)[f"Site {n}"]) for n in (1, 2, 3))
    assert (x3 - x1) / (y1 - y2) == pytest.approx(0.5, rel=0.01)


def test_the_bar_is_as_long_as_it_says():
    svg = drawn(site(1, 51.0), site(2, 51.09))  # 10.0 km apart: 0.09 degrees of 111.2 km
    (_, y1), (_, y2) = (place(marks(svg)[f"Site {n}"]) for n in (1, 2))
    bar = next(path.get("d") for path in svg.iter(f"{SVG}path") if "H" in path.get("d"))
    start, end = float(re.search(r"M([\d.]+)", bar).group(1)), float(re.search(r"H([\d.]+)", bar).group(1))
    said = next(node.text for node in svg.iter(f"{SVG}text") if node.text.endswith(" km"))

    assert (end - start) / (y1 - y2) == pytest.approx(float(said.split()[0]) / 10.0, rel=0.02)


def test_the_bar_is_in_miles_for_who_measures_so():
    assert any(
        node.text.endswith(" mi") for node in drawn(site(1), site(2, 51.1), units="us").iter(f"{SVG}text")
    )


def test_states_differ_in_shape_besides_colour_and_the_legend_has_those_on_the_map():
    states = list(SurfaceState)
    svg = drawn(*(site(n, 51.0 + n / 100, state=state) for n, state in enumerate(states)))

    shapes = set()
    for link in marks(svg).values():
        mark = [child for child in link if child.tag in (f"{SVG}path", f"{SVG}circle")][1]
        shapes.add((mark.tag, mark.get("d", "").split("l", 1)[-1]))
    assert len(shapes) == len(states)
    told = {node.text for node in svg.iter(f"{SVG}text")}
    assert {state.label for state in states} <= told
    assert "watch" not in {node.text for node in drawn(site(1)).iter(f"{SVG}text")}


def test_names_lie_neither_on_one_another_nor_outside_and_the_worst_sites_have_theirs_first():
    crowd = [site(n, 51.0 + n % 4 / 50, 6.0 + n / 100, name=f"A place of number {n}") for n in range(20)]
    worst = site(99, 51.03, 6.075, SurfaceState.BELOW_LIMIT, "The worst of all")
    svg = drawn(*crowd, worst)

    boxes = []
    for link in svg.iter(f"{SVG}a"):
        for label in link.findall(f"{SVG}text"):
            x, y = float(label.get("x")), float(label.get("y"))
            boxes.append((x, y - 11, x + text_width(label.text, LETTERS), y + 2))
    assert 1 < len(boxes) < 22
    assert all(left >= 0 and right <= WIDTH for left, _, right, _ in boxes)
    assert not any(
        a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for a, b in combinations(boxes, 2)
    )
    assert marks(svg)["The worst of all"].find(f"{SVG}text") is not None


def test_a_name_with_marks_in_it_shows_as_it_was_typed():
    svg = drawn(site(1, name="<u>x</u> & co"))

    assert "<u>x</u> & co" in {node.text for node in svg.iter(f"{SVG}text")}


def test_sites_at_one_place_and_a_single_one_can_be_drawn():
    assert len(marks(drawn(site(1), site(2)))) == 2
    assert len(marks(drawn(site(1)))) == 1


def test_the_map_in_words_counts_the_sites_by_state():
    words = site_map(
        [site(1), site(2, state=SurfaceState.WATCH)], "si", {UUID(int=n): "/" for n in (1, 2)}
    ).words

    assert words == "2 sites, each by its worst surface: 1 watch, 1 draining well."
