from xml.etree import ElementTree

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from core.calc.units import UnitSystem
from qa.calc.counts import Spot, Zone, choose_spots
from qa.calc.outlines import SurfacePlan, outline_area_m2
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
        ({"run_on_sides": "5"}, "run_on_sides", "Side 5 does not exist; the outline has sides 1 to 4."),
        ({"low_point": "99 99"}, "low_point", "The low point at 99 m, 99 m lies outside the outline."),
        ({"corners": "0 0\n5 0\n9 0"}, "corners", "The outline has no area"),
        ({"corners": "0 0\n5 0"}, "corners", "An outline needs 3 corners or more, got 2."),
        ({"corners": "0 0\n10 10\n10 0\n0 10"}, "corners", "Sides 1 and 3 cross at 5 m, 5 m."),
        ({"corners": "0 0\n40 0\n40 25\n0 25\n0 0"}, "corners", "Corners 1 and 5 lie on each other"),
        ({"corners": "0 0\n40 0\n40 25\n20 0\n0 25"}, "corners", "Sides 1 and 3 touch at 20 m, 0 m."),
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

    assert fitting.context["picture"].note == ""
    assert off.context["picture"].note == (
        "The outline encloses 500 m², but the surface is recorded with 1000 m². "
        "Check the outline, or correct the area of the surface."
    )


def test_an_outline_far_from_the_recorded_area_is_pointed_out_when_it_is_stored_and_afterwards(client, firm):
    client.force_login(firm.coordinator)
    smaller = TYPED | {"corners": "0 0\n20 0\n20 25\n0 25", "low_point": "10 20"}

    stored = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), smaller, follow=True)

    said = [str(message) for message in stored.context["messages"]]
    assert said[0] == "Outline stored with 3 new locations."
    assert said[1].startswith("The outline encloses 500 m², but the surface is recorded with 1000 m².")
    page = client.get(firm.surface.get_absolute_url()).content.decode()
    again = client.get(reverse("qa:plan-edit", args=[firm.surface.pk])).content.decode()
    assert "The outline encloses 500 m²" in page
    assert "The outline encloses 500 m²" in again
    client.force_login(firm.owner_person)
    assert "The outline encloses" not in client.get(firm.surface.get_absolute_url()).content.decode()


def test_a_fault_of_the_outline_is_told_though_other_fields_are_wrong_too(client, firm):
    client.force_login(firm.coordinator)
    wrong = {"corners": "0 0\n10 10\n10 0\n0 10", "count": "many", "low_point": "x"}

    page = client.post(reverse("qa:plan-edit", args=[firm.surface.pk]), TYPED | wrong)

    assert set(page.context["form"].errors) == {"corners", "count", "low_point"}


def test_a_location_that_stays_must_lie_on_the_surface_as_it_is_drawn(client, firm):
    LocationFactory(surface=firm.surface, label="far", x_m=45.0, y_m=3.0)
    LocationFactory(surface=firm.surface, label="unplaced")
    client.force_login(firm.coordinator)
    url = reverse("qa:plan-edit", args=[firm.surface.pk])

    kept = client.post(url, TYPED)
    replaced = client.post(url, TYPED | {"existing": "renew"})

    assert kept.context["form"].errors["existing"] == [
        "Location far at 45 m, 3 m lies outside the outline. Correct its position or the outline."
    ]
    assert replaced.status_code == 302
    assert not firm.surface.locations.filter(label="far").exists()


def test_the_service_refuses_what_the_form_would(firm):
    LocationFactory(surface=firm.surface, label="far", x_m=45.0, y_m=3.0)
    crossed = SurfacePlan(((0, 0), (10, 10), (10, 0), (0, 10)))
    outside, no_number = Spot(99.0, 5.0, Zone.INTERIOR), Spot(float("nan"), 5.0, Zone.INTERIOR)

    def refused(plan=YARD, spots=(), keep_locations=False, **more):
        with pytest.raises(ValidationError) as caught:
            plans.save_plan(
                surface=firm.surface, plan=plan, spots=spots, keep_locations=keep_locations, **more
            )
        ((field, (said,)),) = caught.value.message_dict.items()
        return f"{field}: {said}"

    assert refused(plan=crossed).startswith("corners: Sides 1 and 3 cross at 5 m, 5 m.")
    assert refused(plan=crossed, system=UnitSystem.US).startswith("corners: Sides 1 and 3 cross at 16.4 ft")
    assert refused(spots=[outside]).startswith("corners: New spot 1 at 99 m, 5 m lies outside")
    assert refused(spots=[no_number]).startswith("corners: New spot 1 has a position that is not a number")
    assert refused(keep_locations=True).startswith("existing: Location far at 45 m, 3 m lies outside")
    assert not Outline.objects.exists()


@pytest.mark.parametrize(("units", "place"), [("si", "45 m, 3 m"), ("us", "147.64 ft, 9.84 ft")])
def test_a_location_cannot_be_moved_off_the_surface(client, firm, units, place):
    plans.save_plan(surface=firm.surface, plan=YARD, spots=(), keep_locations=True)
    firm.coordinator.units = units
    firm.coordinator.save()
    client.force_login(firm.coordinator)
    x, y = (45.0, 3.0) if units == "si" else (147.6378, 9.8425)
    url = reverse("qa:location-edit", args=[firm.surface.pk])
    row = {"label": "A", "zone": "edge", "description": ""}
    sent = {"locations-TOTAL_FORMS": "1", "locations-INITIAL_FORMS": "0"}

    refused = client.post(
        url, sent | {f"locations-0-{n}": v for n, v in (row | {"x_m": x, "y_m": y}).items()}
    )
    fitting = client.post(
        url, sent | {f"locations-0-{n}": v for n, v in (row | {"x_m": 3, "y_m": 3}).items()}
    )

    assert f"Location A at {place} lies outside the outline" in refused.content.decode()
    assert fitting.status_code == 302
    placed = firm.surface.locations.get()
    assert (placed.x_m, placed.y_m) == pytest.approx((3, 3) if units == "si" else (0.9144, 0.9144))


def us_coordinator(client, firm):
    firm.coordinator.units = "us"
    firm.coordinator.save()
    client.force_login(firm.coordinator)
    return reverse("qa:plan-edit", args=[firm.surface.pk])


def test_a_reader_of_us_units_draws_in_feet_and_is_answered_in_feet(client, firm):
    url = us_coordinator(client, firm)
    in_feet = {"corners": "0 0\n130 0\n130 80\n0 80", "low_point": "115 65"}

    crossed = client.post(url, TYPED | in_feet | {"corners": "0 0\n10 10\n10 0\n0 10"})
    shown = client.post(url, TYPED | in_feet | {"do": "show"})
    stored = client.post(url, TYPED | in_feet)

    assert crossed.context["form"].errors["corners"][0].startswith("Sides 1 and 3 cross at 5 ft, 5 ft.")
    assert shown.context["length_unit"] == "ft"
    assert max(float(x) for _, _, x, _ in shown.context["spots"]) > 40
    assert stored.status_code == 302
    outline = Outline.objects.get(surface=firm.surface)
    assert outline.plan.outline[2] == pytest.approx((39.624, 24.384))
    assert outline.plan.low_point == pytest.approx((35.052, 19.812))


def test_an_outline_that_is_stored_again_untouched_does_not_creep(client, firm):
    """Metres that are no round feet, read in feet, and stored a few times over."""
    corners = ((0.0, 0.0), (40.123, 0.0), (40.123, 25.457), (0.0, 25.457))
    plan = SurfacePlan(corners, low_point=(35.001, 20.009))
    Outline.objects.create(surface=firm.surface, plan=plan)
    url = us_coordinator(client, firm)

    for _ in range(3):
        start = client.get(url).context["form"].initial
        sent = {name: str(value) for name, value in start.items()} | {"do": "save", "count": "0"}
        assert client.post(url, sent).status_code == 302

    outline = Outline.objects.get(surface=firm.surface)
    flat = [value for corner in outline.plan.outline for value in corner]
    assert flat == pytest.approx([value for corner in corners for value in corner], abs=1e-5)
    assert outline.plan.low_point == pytest.approx((35.001, 20.009), abs=1e-5)


@pytest.mark.parametrize(("units", "sides"), [("si", ["38.8 0", "0 25.8"]), ("us", ["127.1 0", "0 84.7"])])
def test_the_form_starts_with_a_rectangle_of_the_recorded_area_in_the_readers_units(
    client, firm, units, sides
):
    firm.coordinator.units = units
    firm.coordinator.save()
    client.force_login(firm.coordinator)

    start = client.get(reverse("qa:plan-edit", args=[firm.surface.pk])).context["form"].initial["corners"]

    assert start.splitlines()[1] == sides[0]
    assert start.splitlines()[3] == sides[1]


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
