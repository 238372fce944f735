from datetime import timedelta

import pytest

from core.calc.months import Months
from core.calc.units import UnitSystem
from exchange.calc.kinds import SheetKind
from exchange.calc.ways import Ways
from qa.models import InfiltrationTest, Site, Surface, TestRound
from qa.services.rounds import void_test
from tests.exchange.sheets import example_sheets, prepared, sheet, taken_in
from tests.factories import SiteFactory


@pytest.mark.parametrize("system", UnitSystem)
def test_the_sample_is_taken_in_without_a_problem(firm, system):
    making = taken_in(firm, *example_sheets(system), ways=Ways(system=system))

    assert making.problems == []
    assert {kind: len(new) for kind, new in making.new.items()} == {
        SheetKind.OWNERS: 2,
        SheetKind.SITES: 2,
        SheetKind.SURFACES: 2,
        SheetKind.LAYERS: 1,
        SheetKind.LOCATIONS: 3,
        SheetKind.ROUNDS: 2,
        SheetKind.TESTS: 3,
        SheetKind.CLEANINGS: 1,
    }


def test_done_twice_it_makes_nothing_twice(firm):
    taken_in(firm, *example_sheets())

    again = taken_in(firm, *example_sheets())

    assert again.problems == []
    assert again.new == {}
    assert [n.what for n in again.notices] == []
    assert sum(again.there.values()) == 16


def test_a_row_that_differs_is_told_and_nothing_is_overwritten(firm):
    headers = ("Owner", "Site", "Surface", "Type", "Area", "Opened on", "Limit")
    row = ["Harbour Homes", "Mill Street", "Car park", "picp", 850.0, "2021-05-12", 250.0]
    taken_in(firm, sheet(SheetKind.SURFACES, headers, row))

    again = taken_in(firm, sheet(SheetKind.SURFACES, headers, [*row[:4], 900.0, *row[5:]]))

    (told,) = again.notices
    assert (told.column, told.value, told.what) == ("Area", "900", "850 is stored")
    assert again.new == {}
    assert Surface.objects.get(name="Car park").area_m2 == 850.0


def test_a_record_that_was_set_aside_is_not_brought_back(firm):
    taken_in(firm, *example_sheets())
    test = InfiltrationTest.objects.filter(location__label="A1").get()
    void_test(test=test, by=firm.technician, reason="The ring leaked.")

    again = taken_in(firm, *example_sheets())

    assert again.new == {}
    assert any("set aside since" in notice.what for notice in again.notices)


def test_longer_than_a_time_is_stored_as_a_bound(firm):
    taken_in(firm, *example_sheets())

    test = InfiltrationTest.objects.get(location__label="P1")

    assert (test.ended, test.elapsed_s, test.bound) == ("still_ponded", 1800.0, "<")


def begun(site):
    return site.time_zone, tuple(site.frost_months), tuple(site.leaf_fall_months)


GERMAN_USUAL = ("Europe/Berlin", (1, 2, 3, 11, 12), (10, 11))


@pytest.mark.parametrize(
    ("headers", "row"),
    [
        (("Name", "Owner"), ["Bleach Green", "Harbour Homes"]),
        (
            ("Name", "Owner", "Time zone", "Frost months", "Leaf-fall months"),
            ["Bleach Green", "Harbour Homes", None, None, None],
        ),
    ],
)
def test_a_firms_first_site_begins_with_its_office_and_country(firm, headers, row):
    office = firm.organisation
    Surface.objects.all().delete()
    Site.objects.all().delete()
    office.country, office.time_zone = "DE", "Europe/Berlin"
    office.save()

    making = taken_in(
        firm, sheet(SheetKind.OWNERS, ("Name",), ["Harbour Homes"]), sheet(SheetKind.SITES, headers, row)
    )

    assert making.problems == []
    assert begun(Site.objects.get()) == GERMAN_USUAL


def test_a_further_site_begins_as_the_newest_whatever_its_name(firm):
    firm.site.name, firm.site.time_zone = "Zinc Works", "UTC"
    firm.site.save()
    newest = SiteFactory(owner=firm.owner, name="Alder Yard", time_zone="Europe/Berlin")
    newest.frost_months, newest.leaf_fall_months = Months((1, 2, 3, 11, 12)), Months((10, 11))
    newest.save()
    Site.objects.filter(pk=newest.pk).update(created_at=firm.site.created_at + timedelta(days=1))

    taken_in(firm, sheet(SheetKind.SITES, ("Name", "Owner"), ["Bleach Green", firm.owner.name]))

    assert begun(Site.objects.get(name="Bleach Green")) == GERMAN_USUAL


def test_a_time_zone_told_once_holds_for_the_new_sites_below_it(firm):
    rows = [["Bleach Green", firm.owner.name, "Europe/Lisbon"], ["Copper Mews", firm.owner.name, None]]

    taken_in(firm, sheet(SheetKind.SITES, ("Name", "Owner", "Time zone"), *rows))

    assert Site.objects.get(name="Copper Mews").time_zone == "Europe/Lisbon"


@pytest.mark.parametrize(
    ("headers", "row", "said"),
    [
        (("Site", "Surface", "Date", "Spot", "Rate (mm/h)"), ["S", "F", "2024-06-03", "A", 500.0], "A rate alone"),
        (("Site", "Surface", "Date", "Spot", "Mass", "Ring", "Time"), ["S", "F", "2024-06-03", "A", 18.0, 300.0, 200.0],
         "There is no site “S”"),
    ],
)  # fmt: skip
def test_what_cannot_be_stored_is_told_once(firm, headers, row, said):
    making = prepared(firm, sheet(SheetKind.TESTS, headers, row))

    (problem,) = making.problems
    assert problem.what.startswith(said)
    assert problem.remedy


def test_the_same_name_twice_in_the_sheets_is_told(firm):
    making = prepared(firm, sheet(SheetKind.OWNERS, ("Name",), ["Harbour Homes"], ["harbour  homes"]))

    assert [problem.row for problem in making.problems] == [3]
    assert "stands in the sheets twice" in making.problems[0].what


def test_a_rule_of_the_records_is_told_beside_its_column(firm):
    headers = ("Site", "Surface", "Cleaned on", "Method")
    row = [firm.site.name, firm.surface.name, "2999-01-01", "Vacuum sweeping"]

    making = taken_in(firm, sheet(SheetKind.CLEANINGS, headers, row))

    (problem,) = making.problems
    assert (problem.column, problem.value) == ("Cleaned on", "2999-01-01")
    assert TestRound.objects.count() == 0
