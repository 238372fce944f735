from xml.etree import ElementTree

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from qa.calc.counts import SurfacePlan, Zone, choose_spots, outline_area_m2
from qa.models import Location, Outline
from qa.presentation.drawing.plan import Mark, draw_plan
from qa.presentation.plan import plan_picture
from qa.services import plans
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory

YARD = SurfacePlan(((0, 0), (40, 0), (40, 25), (0, 25)), run_on_edges=(0,), low_point=(35, 20))
TYPED = {
    "corners": "0 0\n40, 0\n40; 25\n0 25",
    "run_on_sides": "1",
    "low_point": "35 20",
    "count": "3",
    "draw": "7",
    "existing": "keep",
    "do": "save",
}


def test_a_coordinator_stores_an_outline_and_proposed_locations(client, firm):
    client.force_login(firm.coordinator)

    client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), TYPED)

    outline = Outline.objects.get(surface=firm.surface)
    assert (outline.plan.outline, outline.plan.run_on_edges) == (((0, 0), (40, 0), (40, 25), (0, 25)), (0,))
    assert sorted(firm.surface.locations.values_list("label", "zone")) == [
        ("A", "edge"),
        ("B", "low"),
        ("C", "interior"),
    ]
    assert [(p.x_m, p.y_m) for p in firm.surface.locations.order_by("label")] == [
        (spot.x_m, spot.y_m) for spot in choose_spots(YARD, 3, seed=7)
    ]


def test_showing_the_plan_stores_nothing(client, firm):
    client.force_login(firm.coordinator)

    page = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), TYPED | {"do": "show"})

    assert len(page.context["spots"]) == 3
    assert "<svg" in page.context["picture"].svg
    assert not Outline.objects.exists()
    assert not Location.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"corners": "0 0\n5 five\n9 9"}, "corners", "Line 2, “5 five”, is not two numbers."),
        ({"corners": "0 0\n5 inf\n9 9"}, "corners", "Line 2, “5 inf”, is not two numbers."),
        ({"run_on_sides": "1, x"}, "run_on_sides", "“x” is not the number of a side."),
        ({"low_point": "3"}, "low_point", "“3” is not two numbers."),
        ({"run_on_sides": "5"}, "__all__", "Side 5 does not exist; the outline has sides 1 to 4."),
        ({"low_point": "99 99"}, "__all__", "The low point 99, 99 lies outside the outline."),
        ({"corners": "0 0\n5 0\n9 0"}, "__all__", "The outline has no area"),
        ({"corners": "0 0\n1 0\n1 1\n0 1", "low_point": ""}, "__all__", "No room for another spot"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_in_words(client, firm, change, field, message):
    client.force_login(firm.coordinator)

    page = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), TYPED | change)

    (said,) = page.context["form"].errors[field]
    assert said.startswith(message)


def test_an_outline_without_new_spots_is_checked_too(firm):
    flat = SurfacePlan(((0, 0), (5, 0), (9, 0)))

    with pytest.raises(ValidationError, match="no area"):
        plans.save_plan(surface=firm.surface, plan=flat, spots=(), keep_locations=True)


def test_an_outline_far_from_the_recorded_area_is_pointed_out(client, firm):
    client.force_login(firm.coordinator)

    fitting = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), TYPED | {"do": "show"})
    smaller = TYPED | {"do": "show", "corners": "0 0\n20 0\n20 25\n0 25", "low_point": "10 20"}
    off = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), smaller)

    assert fitting.context["outline_area_m2"] is None
    assert off.context["outline_area_m2"] == pytest.approx(500)


def test_replaced_locations_that_were_tested_stay_readable_with_their_label(firm):
    tested, untested = LocationFactory(surface=firm.surface, label="A"), LocationFactory(surface=firm.surface)
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), location=tested)

    added = plans.save_plan(
        surface=firm.surface, plan=YARD, spots=choose_spots(YARD, 3, 1), keep_locations=False
    )

    tested.refresh_from_db()
    assert tested.retired
    assert not Location.objects.filter(pk=untested.pk).exists()
    assert [location.label for location in added] == ["B", "C", "D"]


def test_new_spots_keep_their_distance_from_those_there_are():
    there = choose_spots(YARD, 4, seed=3)
    taken = [(s.x_m, s.y_m) for s in there]

    added = choose_spots(YARD, 6, seed=3, taken=taken)

    assert len(added) == 6
    for spot in added:
        assert min(((spot.x_m - x) ** 2 + (spot.y_m - y) ** 2) ** 0.5 for x, y in taken) >= 1.0


def test_spots_inside_do_not_cling_to_the_sides():
    plain = SurfacePlan(((0, 0), (40, 0), (40, 25), (0, 25)))

    spots = [spot for seed in range(20) for spot in choose_spots(plain, 3, seed)]

    assert sum(min(s.x_m, 40 - s.x_m, s.y_m, 25 - s.y_m) > 2.5 for s in spots) > 0.9 * len(spots)


def test_the_area_of_an_outline_is_that_of_its_parts():
    assert outline_area_m2(((0, 0), (72, 0), (72, 30), (48, 30), (48, 60), (0, 60))) == 72 * 30 + 48 * 30


def test_the_plan_tells_in_words_what_it_draws():
    marks = [Mark("A <1>", Zone.EDGE, 5, 1, "412 mm/h"), Mark("B", Zone.LOW, 35, 20)]

    svg = ElementTree.fromstring(draw_plan(YARD, marks, name="Yard & path"))

    space = {"s": "http://www.w3.org/2000/svg"}
    assert svg.find("s:title", space).text == "Plan of Yard & path"
    assert svg.find("s:desc", space).text == (
        "An outline of 4 corners. Water runs on over 1 of its sides. Its low point is marked. "
        "Location A <1>: edge strip, 412 mm/h. Location B: low spot."
    )


@pytest.mark.parametrize("turn", [1, -1])
def test_run_on_arrows_point_inwards_whichever_way_the_corners_go(turn):
    corners = YARD.outline[::turn]
    side = 0 if turn == 1 else 2  # the side y = 0, at the bottom of the drawing
    plan = SurfacePlan(corners, run_on_edges=(side,))

    svg = ElementTree.fromstring(draw_plan(plan, [], name="Yard"))

    shafts = [
        line for line in svg.findall("{http://www.w3.org/2000/svg}line") if line.get("y1") != line.get("y2")
    ]
    assert shafts
    assert all(float(line.get("y1")) > float(line.get("y2")) for line in shafts)


def test_the_plan_is_to_scale_both_ways():
    square = SurfacePlan(((0, 0), (10, 0), (10, 10), (0, 10)))
    marks = [Mark("A", Zone.INTERIOR, 2, 2), Mark("B", Zone.INTERIOR, 7, 2), Mark("C", Zone.INTERIOR, 2, 7)]

    svg = ElementTree.fromstring(draw_plan(square, marks, name="Square"))

    a, b, c = [
        (float(ring.get("cx")), float(ring.get("cy")))
        for ring in svg.findall("{http://www.w3.org/2000/svg}circle")[:3]
    ]
    assert b[0] - a[0] == pytest.approx(a[1] - c[1], abs=0.2)


def test_the_surface_page_shows_the_plan_with_the_last_rate_of_each_spot(client, firm):
    plans.save_plan(surface=firm.surface, plan=YARD, spots=choose_spots(YARD, 3, 1), keep_locations=True)
    location = firm.surface.locations.get(label="A")
    for day, time in (("2023-06-01", 100.0), ("2024-06-01", 611.155)):
        InfiltrationTestFactory(
            round=RoundFactory(surface=firm.surface, tested_on=day), location=location, elapsed_s=time
        )
    client.force_login(firm.owner_person)

    page = client.get(firm.surface.get_absolute_url()).content.decode()

    assert "Location A: edge strip, 300 mm/h." in page
    assert plan_picture(firm.surface, "us").svg.count("in/h") == 2


def test_a_location_needs_both_or_neither_coordinate(firm):
    with pytest.raises(ValidationError, match="needs both x and y"):
        LocationFactory.build(surface=firm.surface, x_m=1.0).full_clean()
