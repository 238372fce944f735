"""What sites, surfaces, build-ups, locations, plans and limits refuse, and that nothing is stored then."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from core.calc.units import UnitSystem
from qa.calc.counts import Spot, Zone
from qa.calc.outlines import SurfacePlan
from qa.models import Layer, Location, Outline, OwnLimit, Site, Surface
from qa.services import limits, register
from qa.services.plans import save_plan
from tests.factories import (
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    OwnLimitFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)
from tests.refusals import TOMORROW, refused

SQUARE = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))
INSIDE = Spot(5.0, 5.0, Zone.INTERIOR)


@pytest.fixture
def surface(firm):
    firm.surface.agreed_limit_mm_h = 254.0
    firm.surface.save()
    return firm.surface


# ---- Sites and surfaces --------------------------------------------------------------------------


def test_a_site_of_another_firms_owner_is_refused_with_both_names(firm):
    stranger = OwnerFactory(name="Other trust")
    site = Site(organisation=firm.organisation, owner=stranger, name="Yard", time_zone="UTC")

    with refused(ValidationError, "Other trust", str(firm.organisation), "your own firm", beside="owner"):
        register.save_site(site=site)


def test_a_site_cannot_be_handed_to_another_firms_owner_later(firm):
    firm.site.owner = OwnerFactory(name="Other trust")

    with refused(ValidationError, "Other trust", beside="owner"):
        register.save_site(site=firm.site)


def test_a_site_has_a_name_of_its_own(firm):
    site = Site(organisation=firm.organisation, owner=firm.owner, name=firm.site.name, time_zone="UTC")

    with refused(ValidationError, "already a site of this name"):
        register.save_site(site=site)


@pytest.mark.parametrize("zone", ["Mars/Olympus", "", "UTC+1", "../etc/passwd"])
def test_a_time_zone_that_nobody_knows_is_refused_beside_its_field(firm, zone):
    firm.site.time_zone = zone

    with refused(ValidationError, beside="time_zone"):
        register.save_site(site=firm.site)


@pytest.mark.parametrize(
    ("name", "value"), [("latitude_deg", 91.0), ("latitude_deg", -91.0), ("longitude_deg", 181.0)]
)
def test_a_position_that_is_not_on_earth_is_refused(firm, name, value):
    firm.site.latitude_deg = firm.site.longitude_deg = 50.0
    setattr(firm.site, name, value)

    with refused(ValidationError, beside=name):
        register.save_site(site=firm.site)


def test_a_surface_has_a_name_of_its_own_at_its_site(firm, surface):
    twin = SurfaceFactory.build(site=firm.site, name=surface.name)

    with refused(ValidationError, "already has a surface of this name. Tell them apart."):
        register.save_surface(surface=twin)


def test_two_sites_may_have_a_surface_of_one_name(firm, surface):
    other = SiteFactory(owner=firm.owner)

    stored = register.save_surface(surface=SurfaceFactory.build(site=other, name=surface.name))

    assert Surface.objects.filter(name=surface.name).count() == 2
    assert stored.agreed_limit_mm_h == 250.0, "a bare limit is taken as agreed"


def test_an_opening_before_all_calendars_is_told_with_the_days_allowed(surface):
    surface.opened_on = register.EARLIEST_OPENING - timedelta(days=1)

    with refused(ValidationError, register.EARLIEST_OPENING, surface.opened_on, beside="opened_on"):
        register.save_surface(surface=surface)


def test_a_removal_is_entered_once_it_happened(surface):
    surface.removed_on = TOMORROW + timedelta(days=1)

    with refused(ValidationError, "Enter the removal once the surface is gone", beside="removed_on"):
        register.save_surface(surface=surface)


def test_a_surface_cannot_be_removed_before_it_was_opened(surface):
    surface.removed_on = surface.opened_on - timedelta(days=1)

    with refused(ValidationError, "cannot be removed before it was opened"):
        register.save_surface(surface=surface)


def test_an_opening_long_after_the_first_round_names_that_rounds_day(surface):
    round_ = RoundFactory(surface=surface)
    surface.opened_on = round_.tested_on + timedelta(days=32)

    with refused(ValidationError, round_.tested_on, "correct the opening date", beside="opened_on"):
        register.save_surface(surface=surface)


@pytest.mark.parametrize(
    ("name", "value"), [("area_m2", 0.0), ("area_m2", -4.0), ("area_m2", 2e6), ("traffic", 99)]
)
def test_a_figure_beyond_its_range_is_refused_beside_its_field(surface, name, value):
    setattr(surface, name, value)

    with refused(ValidationError, beside=name):
        register.save_surface(surface=surface)


# ---- The soil below ------------------------------------------------------------------------------


def test_a_measured_rate_of_the_soil_asks_for_its_safety_factor(surface):
    surface.soil_measured_mm_h = 30.0

    with refused(ValidationError, "Enter the safety factor", "2 to 3 is usual", beside="soil_safety_factor"):
        register.save_surface(surface=surface)


def test_a_design_rate_that_the_measured_one_does_not_carry_is_told_with_all_three(surface):
    surface.soil_measured_mm_h, surface.soil_safety_factor, surface.soil_rate_mm_h = 30.0, 2.5, 13.0

    with refused(ValidationError, "13 mm/h", "factor of 2.5", "12 mm/h", beside="soil_rate_mm_h"):
        register.save_surface(surface=surface)


@pytest.mark.parametrize(
    ("factor", "design", "stored"), [(2.0, None, 15.0), (2.0, 15.0, 15.0), (2.0, 9.0, 9.0), (None, 9.0, 9.0)]
)
def test_the_design_rate_follows_from_the_measured_one_unless_a_smaller_one_is_chosen(
    surface, factor, design, stored
):
    surface.soil_measured_mm_h, surface.soil_safety_factor, surface.soil_rate_mm_h = 30.0, factor, design

    register.save_surface(surface=surface)

    assert Surface.objects.get(pk=surface.pk).soil_rate_mm_h == pytest.approx(stored)


# ---- Layers, locations, plans --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"kind": "base", "thickness_mm": None}, "This layer needs a thickness in mm."),
        ({"stone_min_mm": 20.0, "stone_max_mm": 5.0}, "cannot be smaller than the smallest"),
        ({"porosity": 1.4}, ""),
    ],
)
def test_one_bad_layer_leaves_the_whole_build_up_as_it_was(surface, values, words):
    there = LayerFactory(surface=surface)
    good = {"kind": "base", "material": "stone", "thickness_mm": 100.0, "porosity": 0.4}

    with refused(ValidationError, words):
        register.save_build_up(
            surface=surface, layers=[Layer(**good), Layer(**good | values)], removed=[there]
        )


@pytest.mark.parametrize("position", [{"x_m": 3.0}, {"y_m": 3.0}])
def test_half_a_position_of_a_location_is_refused(surface, position):
    with refused(ValidationError, "A position needs both x and y"):
        register.save_locations(surface=surface, locations=[Location(label="A", **position)], removed=[])


def test_a_label_is_used_once_on_a_surface(surface):
    LocationFactory(surface=surface, label="A")

    with refused(ValidationError, "already has a location of that label"):
        register.save_locations(
            surface=surface, locations=[Location(label="B"), Location(label="A")], removed=[]
        )


@pytest.mark.parametrize(("system", "said"), [(UnitSystem.SI, " m"), (UnitSystem.US, " ft")])
def test_a_location_off_the_outline_is_told_in_the_persons_units(surface, system, said):
    Outline.objects.create(surface=surface, plan=SurfacePlan(SQUARE))

    with refused(ValidationError, "Z9 at ", said, "lies outside the outline"):
        off = Location(label="Z9", x_m=50.0, y_m=5.0)
        register.save_locations(surface=surface, locations=[off], removed=[], system=system)


@pytest.mark.parametrize(
    ("plan", "beside"),
    [
        (SurfacePlan(SQUARE[:2]), "corners"),
        (SurfacePlan((SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3])), "corners"),
        (SurfacePlan((SQUARE[0], SQUARE[0], SQUARE[1], SQUARE[2])), "corners"),
        (SurfacePlan(SQUARE, run_on_edges=(7,)), "corners"),
        (SurfacePlan(SQUARE, low_point=(99.0, 1.0)), "corners"),
        (SurfacePlan(((0.0, 0.0), (float("nan"), 0.0), (20.0, 10.0))), "corners"),
    ],
)
def test_an_outline_that_goes_round_nothing_is_refused_and_the_old_one_stays(surface, plan, beside):
    save_plan(surface=surface, plan=SurfacePlan(SQUARE), spots=[INSIDE], keep_locations=True)

    with refused(ValidationError, beside=beside):
        save_plan(surface=surface, plan=plan, spots=[], keep_locations=False)


def test_a_spot_outside_and_a_kept_location_outside_are_told_apart(surface):
    save_plan(surface=surface, plan=SurfacePlan(SQUARE), spots=[INSIDE], keep_locations=True)
    small = SurfacePlan(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)))

    with refused(ValidationError, "A at ", beside="existing"):
        save_plan(surface=surface, plan=small, spots=[], keep_locations=True)
    with refused(ValidationError, "New spot 1 at ", beside="corners"):
        save_plan(surface=surface, plan=small, spots=[INSIDE], keep_locations=False)


def test_new_spots_take_the_first_letters_that_no_location_ever_had(surface):
    tested = LocationFactory(surface=surface, label="A", x_m=2.0, y_m=2.0)
    InfiltrationTestFactory(round=RoundFactory(surface=surface), location=tested)
    LocationFactory(surface=surface, label="C", x_m=3.0, y_m=3.0)

    added = save_plan(surface=surface, plan=SurfacePlan(SQUARE), spots=[INSIDE, INSIDE], keep_locations=False)

    assert [one.label for one in added] == ["B", "D"]
    assert set(surface.locations.values_list("label", "retired")) == {("A", True), ("B", False), ("D", False)}


# ---- Limits --------------------------------------------------------------------------------------


def test_a_rule_that_the_list_does_not_have_is_named(surface):
    surface.limit_preset = "atlantis"

    with refused(ValidationError, "atlantis is not a rule of the list", beside="rule"):
        register.save_surface(surface=surface)


def test_a_limit_of_another_firm_is_named(surface):
    surface.own_limit = OwnLimitFactory(name="Their contract")

    with refused(ValidationError, "Their contract is a rule of another firm", beside="rule"):
        register.save_surface(surface=surface)


def test_a_surface_with_nothing_to_be_held_to_says_so_beside_the_rule(firm):
    bare = SurfaceFactory.build(site=firm.site, limit_mm_h=None, limit_source="")

    with refused(ValidationError, beside="rule"):
        register.save_surface(surface=bare)


def test_the_last_limit_of_a_surface_is_not_taken_from_it(firm, surface):
    own = OwnLimitFactory(organisation=firm.organisation)
    Surface.objects.filter(pk=surface.pk).update(own_limit=own, agreed_limit_mm_h=None)
    own.limit_mm_h = None

    with refused(ValidationError, f"{surface} would be left without a limit", "Keep a limit here"):
        limits.save_own_limit(own=own)


def test_an_own_limit_has_a_name_of_its_own_within_the_firm(firm):
    OwnLimitFactory(organisation=firm.organisation, name="Contract 7")
    twin = OwnLimit(organisation=firm.organisation, name="Contract 7", limit_mm_h=200.0, source="c. 7")

    with refused(ValidationError, "already has a limit of this name"):
        limits.save_own_limit(own=twin)


def test_an_own_limit_that_asks_for_nothing_is_refused(firm):
    empty = OwnLimit(organisation=firm.organisation, name="Contract 8", source="c. 8")

    with refused(ValidationError, "Enter the limit in service, the rate when new, or both."):
        limits.save_own_limit(own=empty)


def test_a_limit_that_is_called_otherwise_only_changes_what_stands_beside_the_figure(firm, surface):
    own = OwnLimitFactory(organisation=firm.organisation, limit_mm_h=300.0)
    Surface.objects.filter(pk=surface.pk).update(own_limit=own, agreed_limit_mm_h=None)
    limits.save_own_limit(own=own)
    own.source = "contract 9, clause 1"

    limits.save_own_limit(own=own)

    stored = Surface.objects.get(pk=surface.pk)
    assert stored.limit_mm_h == 300.0
    assert "contract 9, clause 1" in stored.limit_source
