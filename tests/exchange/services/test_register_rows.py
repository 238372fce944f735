"""Owners, sites, surfaces, build-ups and spots of sheets: what leads where, and what is told where nothing does."""

import pytest

from accounts.models import Owner
from exchange.calc.kinds import SheetKind
from qa.models import Layer, Location, Site, Surface
from tests.exchange.sheets import prepared, sheet, taken_in
from tests.factories import (
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    OwnLimitFactory,
    SiteFactory,
    SurfaceFactory,
)

K = SheetKind
PLAIN = ["PICP", 500.0, "2021-05-12"]
AGREED = [250.0, "Contract"]
SURFACE = ("Type", "Area", "Opened on", "Limit", "Where it is agreed")


def surfaces(headers, *rows, name=None):
    return sheet(K.SURFACES, (*headers, *SURFACE), *([*row, *PLAIN, *AGREED] for row in rows), name=name)


def told(making):
    return [(p.row, p.column, p.value, p.what) for p in making.problems]


def names_of(model, **among):
    return set(model.objects.filter(**among).values_list("name", flat=True))


# ---- what leads nowhere ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet_", "column", "what", "remedy"),
    [
        (sheet(K.SITES, ("Owner", "Name"), ["Nobody", "x"]), "Owner", "There is no owner “Nobody”", "sheet of owners"),
        (sheet(K.SITES, ("Owner", "Name"), ["", "x"]), "Owner", "does not say which owner", "Add a column"),
        (surfaces(("Site", "Name"), ["Nowhere", "x"]), "Site", "There is no site “Nowhere”", "give its owner"),
        (surfaces(("Name",), ["x"]), "Site", "does not say which site", "Add a column"),
        (sheet(K.LOCATIONS, ("Label",), ["A1"]), "Surface", "does not say which surface", "Add a column"),
        (sheet(K.LOCATIONS, ("Surface", "Label"), ["Yard", "A1"]), "Surface",
         "There is no surface “Yard” at any site", "sheet of surfaces"),
        (sheet(K.LAYERS, ("Surface", "Layer"), ["Yard", "Base"]), "Surface", "There is no surface “Yard”", "correct"),
        (sheet(K.CLEANINGS, ("Surface", "Date", "Method"), ["Yard", "2024-04-11", "Vacuum sweeping"]), "Surface",
         "There is no surface “Yard”", "correct the name"),
    ],
    ids=["owner", "no owner", "site", "no site", "no surface", "surface", "of a layer", "of a cleaning"],
)  # fmt: skip
def test_a_name_that_is_not_known_is_told_once_beside_its_column(firm, sheet_, column, what, remedy):
    making = prepared(firm, sheet_)

    (problem,) = making.problems
    assert (problem.row, problem.column) == (2, column)
    assert what.casefold() in problem.what.casefold()
    assert remedy in problem.remedy
    assert problem.remedy
    assert making.new == {}


def test_a_surface_that_is_not_at_that_site_is_told_with_the_site(firm):
    other = SiteFactory(owner=firm.owner, name="Mill Street")
    headers = ("Site", "Surface", "Label")

    making = prepared(firm, sheet(K.LOCATIONS, headers, [other.name, firm.surface.name, "A1"]))

    (problem,) = making.problems
    assert problem.what == f"There is no surface “{firm.surface.name}” at Mill Street"


def test_a_surface_by_its_name_alone_is_found_where_there_is_one_and_asked_for_where_there_are_several(firm):
    SurfaceFactory(site=firm.site, name="Car park")
    spots = sheet(K.LOCATIONS, ("Surface", "Label"), ["car  PARK", "A1"])
    assert prepared(firm, spots).problems == []

    SurfaceFactory(site=SiteFactory(owner=firm.owner), name="CAR PARK")

    (problem,) = prepared(firm, spots).problems
    assert problem.what == "There are 2 surfaces “car  PARK”"
    assert problem.remedy == "Add a column with the site."


def test_rows_of_another_firm_are_found_by_no_name(firm):
    theirs = SurfaceFactory(site__name="Their site", name="Their yard")
    OwnerFactory(name="Their owner")

    making = prepared(
        firm,
        sheet(K.SITES, ("Owner", "Name"), ["Their owner", "x"]),
        surfaces(("Site", "Name"), [theirs.site.name, "y"]),
        sheet(K.LOCATIONS, ("Surface", "Label"), [theirs.name, "A1"]),
    )

    assert [problem.what[:11] for problem in making.problems] == ["There is no"] * 3


def test_what_hangs_on_a_row_that_cannot_be_made_is_passed_over_without_a_word(firm):
    """Who mends the owner mends all of it; a hundred lines about its sites would hide that one."""
    making = prepared(
        firm,
        sheet(K.OWNERS, ("Name", "E-mail for reports"), ["Harbour Homes", "no address"]),
        sheet(K.SITES, ("Owner", "Name"), ["Harbour Homes", "Mill Street"]),
        surfaces(("Site", "Name"), ["Mill Street", "Car park"]),
        sheet(K.LOCATIONS, ("Site", "Surface", "Label"), ["Mill Street", "Car park", "A1"]),
        sheet(K.LAYERS, ("Site", "Surface", "Layer"), ["Mill Street", "Car park", "Base"]),
    )

    assert [(problem.sheet, problem.column) for problem in making.problems] == [
        ("Owners", "E-mail for reports")
    ]
    assert making.new == {}


def test_so_is_what_hangs_on_a_broken_surface_named_without_its_site(firm):
    making = prepared(
        firm,
        surfaces(("Site", "Name", "Joint width"), [firm.site.name, "Car park", "wide"]),
        sheet(K.LOCATIONS, ("Surface", "Label"), ["Car park", "A1"]),
    )

    assert [(problem.column, problem.value) for problem in making.problems] == [("Joint width", "wide")]


# ---- twice ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet_", "column", "what"),
    [
        (sheet(K.OWNERS, ("Name",), ["Harbour Homes"], ["HARBOUR  homes "]), "Name",
         "Owner “HARBOUR  homes” stands in the sheets twice"),
        (sheet(K.OWNERS, ("ID", "Name"), ["7", "Harbour Homes"], ["7", "Mill Trust"]), "ID",
         "Two rows have the ID “7”"),
    ],
    ids=["a name", "an ID"],
)  # fmt: skip
def test_an_owner_that_stands_twice_is_told_and_neither_dropped_nor_doubled(firm, sheet_, column, what):
    before = Owner.objects.count()

    making = taken_in(firm, sheet_)

    (problem,) = making.problems
    assert (problem.row, problem.column) == (3, column)
    assert problem.what == what
    assert Owner.objects.count() <= before + 1


def test_one_id_for_two_sites_or_surfaces_is_told_beside_it(firm):
    sites = sheet(
        K.SITES, ("ID", "Owner", "Name"), *(["S", firm.owner.name, name] for name in ("East", "West"))
    )
    yards = surfaces(("ID", "Site", "Name"), *(["F", firm.site.name, name] for name in ("North", "South")))

    making = prepared(firm, sites, yards)

    assert [(p.sheet, p.row, p.column, p.value) for p in making.problems] == [
        ("Sites", 3, "ID", "S"), ("Surfaces", 3, "ID", "F"),
    ]  # fmt: skip


def test_two_surfaces_of_one_name_at_two_sites_are_two(firm):
    other = SiteFactory(owner=firm.owner)

    making = taken_in(
        firm, surfaces(("Site", "Name"), [firm.site.name, "Car park"], [other.name, "Car park"])
    )

    assert told(making) == []
    assert Surface.objects.filter(name="Car park").count() == 2


def test_two_spots_of_one_label_are_told_unless_they_are_on_two_surfaces(firm):
    other = SurfaceFactory(site=firm.site)
    rows = [[firm.surface.name, "A1"], [other.name, "A1"], [firm.surface.name, "a1"]]

    making = prepared(firm, sheet(K.LOCATIONS, ("Surface", "Label"), *rows))

    assert told(making) == [(4, "Label", "a1", "Location “a1” stands in the sheets twice")]


# ---- there already ----------------------------------------------------------------------------------------


def test_a_spot_that_is_there_is_counted_and_where_it_differs_told(firm):
    LocationFactory(surface=firm.surface, label="A1", zone="edge", description="By the gate")
    headers = ("Surface", "Label", "Zone", "How to find it")
    rows = [[firm.surface.name, "a1", "Interior", "By the gate"], [firm.surface.name, "B1", "Interior", ""]]

    making = taken_in(firm, sheet(K.LOCATIONS, headers, *rows))

    assert (making.there, making.differ) == ({K.LOCATIONS: 1}, {K.LOCATIONS: 1})
    edge = Location.objects.get(label="A1").get_zone_display()
    assert [(notice.row, notice.column, notice.what) for notice in making.notices] == [
        (2, "Label", "“A1” is stored"),
        (2, "Zone", f"“{edge}” is stored"),
    ]
    assert set(firm.surface.locations.values_list("label", "zone")) == {("A1", "edge"), ("B1", "interior")}


LAYERS = ("Surface", "Place from the top", "Layer", "Thickness", "Porosity")


def layers(firm, *rows):
    return sheet(K.LAYERS, LAYERS, *([firm.surface.name, *row] for row in rows))


def test_layers_are_stored_by_their_place_however_the_rows_stand(firm):
    making = taken_in(firm, layers(firm, [3, "Subbase", 300.0, 0.4], [1, "Surface course", 80.0, None],
                                   [2, "Bedding", 50.0, 0.35]))  # fmt: skip

    assert told(making) == []
    found = Layer.objects.filter(surface=firm.surface).order_by("position")
    assert [layer.kind for layer in found] == ["surface_course", "bedding", "subbase"]
    assert [layer.position for layer in found] == [1, 2, 3]


def test_layers_without_a_place_are_in_the_order_of_their_rows_below_those_with_one(firm):
    taken_in(firm, layers(firm, [None, "Base", 100.0, 0.4], [None, "Subbase", 300.0, 0.4],
                          [1, "Surface course", 80.0, None]))  # fmt: skip

    found = Layer.objects.filter(surface=firm.surface).order_by("position")
    assert [layer.kind for layer in found] == ["surface_course", "base", "subbase"]


@pytest.mark.parametrize(
    ("rows", "differs"),
    [
        ([[1, "Base", 100.0, 0.4]], False),
        ([[1, "Base", 100.00000001, 0.4]], False),
        ([[1, "Base", 101.0, 0.4]], True),
        ([[1, "Base", 100.0, 0.4], [2, "Subbase", 300.0, 0.4]], True),
        ([[1, "Subbase", 100.0, 0.4]], True),
    ],
    ids=["as it is", "to a hair", "thicker", "one more", "another kind"],
)
def test_a_build_up_that_is_there_is_never_overwritten_and_another_is_told(firm, rows, differs):
    LayerFactory(surface=firm.surface, position=1, material="")

    making = taken_in(firm, layers(firm, *rows))

    assert making.problems == []
    assert (making.there, making.differ) == ({K.LAYERS: 1}, {K.LAYERS: int(differs)})
    assert [notice.what for notice in making.notices] == [
        "This surface has another build-up already"
    ] * differs
    assert Layer.objects.get(surface=firm.surface).thickness_mm == 100.0


# ---- rules of the limit --------------------------------------------------------------------------------------


def ruled(firm, rule):
    headers = ("Site", "Name", "Type", "Area", "Opened on", "Rule")
    return sheet(K.SURFACES, headers, [firm.site.name, "Car park", *PLAIN, rule])


def test_a_rule_is_named_as_the_firm_calls_its_own(firm):
    own = OwnLimitFactory(organisation=firm.organisation, name="Town rule", limit_mm_h=333.0)

    assert told(taken_in(firm, ruled(firm, " town  RULE"))) == []
    assert Surface.objects.get(name="Car park").limit_mm_h == 333.0
    own.retired = True
    own.save()
    assert told(prepared(firm, ruled(firm, "town rule"))) == [
        (2, "Rule", "town rule", "There is no rule “town rule”")
    ]


def test_a_rule_is_known_by_how_its_name_alone_begins(firm):
    for name in ("Town rule", "Town hall rule"):
        OwnLimitFactory(organisation=firm.organisation, name=name, limit_mm_h=333.0)

    assert told(prepared(firm, ruled(firm, "town h"))) == []
    assert told(prepared(firm, ruled(firm, "town"))) == [(2, "Rule", "town", "There is no rule “town”")]


def test_a_rule_of_another_firm_is_none(firm):
    OwnLimitFactory(name="Their rule")

    (problem,) = prepared(firm, ruled(firm, "Their rule")).problems
    assert "published rule" in problem.remedy


def test_another_rule_than_is_stored_is_told(firm):
    OwnLimitFactory(organisation=firm.organisation, name="Town rule")
    OwnLimitFactory(organisation=firm.organisation, name="County rule")
    taken_in(firm, ruled(firm, "Town rule"))

    same = prepared(firm, ruled(firm, "TOWN RULE"))
    other = prepared(firm, ruled(firm, "County rule"))

    assert [notice.what for notice in same.notices] == []
    assert [(notice.column, notice.what) for notice in other.notices] == [("Rule", "another rule is stored")]


# ---- one list of everything --------------------------------------------------------------------------------


def test_one_list_makes_its_owners_and_sites_once(firm):
    rows = [["Harbour Homes", "Mill Street", "Car park"], ["harbour homes", "MILL STREET", "Drive"],
            ["Harbour Homes", "Quay", "Yard"]]  # fmt: skip

    making = taken_in(firm, surfaces(("Owner", "Site", "Name"), *rows))

    assert told(making) == []
    assert names_of(Owner, organisation=firm.organisation) == {firm.owner.name, "Harbour Homes"}
    assert names_of(Site, owner__name="Harbour Homes") == {"Mill Street", "Quay"}
    assert names_of(Surface, site__name="Mill Street") == {"Car park", "Drive"}


def test_a_site_that_is_there_stays_with_its_owner_whoever_the_list_names(firm):
    making = taken_in(firm, surfaces(("Owner", "Site", "Name"), ["Somebody new", firm.site.name, "Car park"]))

    assert told(making) == []
    assert Surface.objects.get(name="Car park").site.owner == firm.owner
    assert not Owner.objects.filter(name="Somebody new").exists()


def test_address_and_time_zone_of_a_list_go_to_the_site_that_is_made(firm):
    headers = ("Owner", "Site", "Site address", "Time zone", "Name")
    row = [firm.owner.name, "Mill Street", "4 Mill Street", "Europe/Lisbon", "Car park"]

    taken_in(firm, surfaces(headers, row))

    site = Site.objects.get(name="Mill Street")
    assert (site.address, site.time_zone) == ("4 Mill Street", "Europe/Lisbon")


def test_a_time_zone_that_is_none_is_told_once_in_the_list(firm):
    headers = ("Owner", "Site", "Time zone", "Name")
    rows = [[firm.owner.name, "Mill Street", "Nowhere/Atlantis", name] for name in ("Car park", "Drive")]

    making = prepared(firm, surfaces(headers, *rows))

    assert [(p.row, p.column, p.value) for p in making.problems] == [(2, "Time zone", "Nowhere/Atlantis")]
    assert making.new == {}
