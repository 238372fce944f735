"""What a row is known again by: names, IDs, other sheets, imports before; and what cannot be told apart is refused."""

from datetime import date

import pytest

from accounts.models import Owner
from exchange.calc.kinds import SheetKind
from maintenance.models import CleaningEvent
from qa.models import InfiltrationTest, Layer, Site, Surface, TestRound
from tests.exchange.sheets import prepared, sheet, taken_in
from tests.factories import SiteFactory, SurfaceFactory

K = SheetKind
TESTS = ("Surface", "Date", "Spot", "Mass", "Ring", "Time")
TEST = [date(2024, 6, 3), "A", 18.0, 300.0, 320.0]
LIMIT = [500.0, "2021-05-12", 250.0, "Contract"]
SURFACES = ("Owner", "Site", "Name", "Type", "Area", "Opened on", "Limit", "Where it is agreed")


def words(making):
    return [(p.row, p.column, p.what) for p in making.problems]


def test_an_id_of_an_import_before_leads_to_what_it_made(firm):
    taken_in(firm, sheet(K.OWNERS, ("ID", "Name"), ["O-1", "Harbour Homes"]))
    taken_in(firm, sheet(K.SITES, ("ID", "Owner", "Name"), ["S-1", "O-1", "Mill Street"]))
    taken_in(firm, sheet(K.SURFACES, SURFACES, ["O-1", "S-1", "Car park", "PICP", *LIMIT]))

    surface = Surface.objects.get(name="Car park")
    assert (surface.site.name, surface.site.owner.name) == ("Mill Street", "Harbour Homes")
    assert not Owner.objects.filter(name="O-1").exists()
    assert not Site.objects.filter(name="S-1").exists()


def test_an_id_of_another_firm_leads_nowhere(firm):
    taken_in(firm, sheet(K.OWNERS, ("ID", "Name"), ["O-1", "Harbour Homes"]))
    other = SurfaceFactory()
    firm.organisation = other.site.organisation

    assert (
        "no owner “O-1”" in prepared(firm, sheet(K.SITES, ("Owner", "Name"), ["O-1", "x"])).problems[0].what
    )


def test_a_row_with_an_id_may_be_renamed_and_is_not_made_twice(firm):
    taken_in(firm, sheet(K.OWNERS, ("ID", "Name"), ["O-1", "Harbour Homes"]))

    again = taken_in(firm, sheet(K.OWNERS, ("ID", "Name"), ["O-1", "Harbour Homes Ltd"]))

    assert (again.new, again.notices[0].what) == ({}, "“Harbour Homes” is stored")
    assert not Owner.objects.filter(name="Harbour Homes Ltd").exists()


def test_a_test_finds_its_round_by_its_id_without_site_surface_and_day(firm):
    rounds = sheet(K.ROUNDS, ("ID", "Surface", "Date"), ["R1", firm.surface.name, date(2024, 6, 3)])
    taken_in(firm, rounds)

    making = taken_in(firm, sheet(K.TESTS, ("Round", *TESTS[2:]), ["R1", *TEST[1:]]))

    assert words(making) == []
    assert InfiltrationTest.objects.get(spot="A").round.surface == firm.surface


def test_sites_whose_names_differ_by_case_alone_do_not_stop_an_import(firm):
    first = SiteFactory(owner=firm.owner, name="Mill Street")
    SiteFactory(owner=firm.owner, name="MILL STREET")
    SurfaceFactory(site=first, name="Car park")

    making = taken_in(firm, sheet(K.OWNERS, ("Name",), ["Somebody"]))

    assert words(making) == []


@pytest.mark.parametrize(
    "name", ["Mu\u0308ller", "MÜLLER", " m\u00fcller\u00a0", "Müller\u200b", "\ufeffMüller"]
)
def test_a_name_is_known_however_its_signs_are_stored(firm, name):
    taken_in(firm, sheet(K.OWNERS, ("Name",), ["Müller"]))

    assert taken_in(firm, sheet(K.OWNERS, ("Name",), [name])).new == {}


# ---- twice in the sheets ---------------------------------------------------------------------------------


def test_a_test_in_two_sheets_is_told_and_not_stored_twice(firm):
    row = [firm.surface.name, *TEST]
    making = taken_in(firm, sheet(K.TESTS, TESTS, row), sheet(K.TESTS, TESTS, row, name="Copy"))

    (problem,) = making.problems
    assert (problem.sheet, problem.what) == ("Copy", "This test stands in the sheets twice")
    assert "ID" in problem.remedy


@pytest.mark.parametrize("kind", [K.TESTS, K.CLEANINGS])
def test_one_id_for_two_records_is_told_beside_it(firm, kind):
    tests = ("ID", *TESTS), ["1", firm.surface.name, *TEST]
    cleanings = (
        ("ID", "Surface", "Date", "Method"),
        ["1", firm.surface.name, date(2024, 4, 1), "Vacuum sweeping"],
    )
    headers, row = tests if kind is K.TESTS else cleanings

    making = taken_in(firm, sheet(kind, headers, row, row))

    assert [(p.row, p.column) for p in making.problems] == [(3, "ID")]


def test_two_like_tests_of_one_sheet_are_repeats_at_the_spot(firm):
    row = [firm.surface.name, *TEST]

    making = taken_in(firm, sheet(K.TESTS, TESTS, row, row))

    assert words(making) == []
    assert sorted(InfiltrationTest.objects.filter(spot="A").values_list("sequence", flat=True)) == [1, 2]
    assert taken_in(firm, sheet(K.TESTS, TESTS, row, row)).new == {}


def test_a_build_up_in_two_sheets_is_told(firm):
    first = sheet(K.LAYERS, ("Surface", "Layer", "Thickness"), [firm.surface.name, "Base", 100.0])
    second = sheet(
        K.LAYERS, ("Surface", "Layer", "Thickness"), [firm.surface.name, "Subbase", 300.0], name="More"
    )

    making = taken_in(firm, first, second)

    (problem,) = making.problems
    assert (problem.sheet, "stands in the sheets twice" in problem.what) == ("More", True)
    assert Layer.objects.filter(surface=firm.surface).count() == 1


# ---- longer than, and what else was understood -------------------------------------------------------------


def test_longer_than_is_a_bound_of_elapsed_times_alone(firm):
    headers = ("Surface", "Date", "Spot", "Prewet time", "Mass", "Ring", "Time")
    making = taken_in(firm, sheet(K.TESTS, headers, [firm.surface.name, *TEST[:2], "> 60", *TEST[2:]]))

    (problem,) = making.problems
    assert (problem.column, problem.value) == ("Prewet time", "> 60")
    assert not InfiltrationTest.objects.filter(ended="still_ponded").exists()


def test_longer_than_is_refused_where_a_method_has_no_early_stop(firm):
    headers = ("Surface", "Date", "Spot", "Method", "Run 1: Head at the start", "Run 1: Head at the end",
               "Run 1: Time of the fall", "Standpipe, inside diameter", "Sealed base, inside diameter",
               "Thickness of the layer")  # fmt: skip
    row = [firm.surface.name, *TEST[:2], "falling_head", 500.0, 300.0, "> 600", 60.0, 100.0, 80.0]

    making = taken_in(firm, sheet(K.TESTS, headers, row))

    (problem,) = making.problems
    assert (problem.column, problem.value) == ("Run 1: Time of the fall", "> 600")
    assert "has no early stop" in problem.what


def test_what_was_understood_of_layers_is_told_too(firm):
    making = taken_in(
        firm, sheet(K.LAYERS, ("Surface", "Layer", "Thickness (cm)"), [firm.surface.name, "Base", "1,234"])
    )

    said = [notice.what for notice in making.notices]
    assert any("in cm and are stored in mm" in one for one in said)
    assert any("1,234 is read as 1234" in one for one in said)


def test_a_cell_of_one_test_keeps_no_other_test_of_its_round_back(firm):
    """All mistakes are told at once, not one after another with each sending."""
    rows = [[firm.surface.name, date(2024, 6, 3), spot, mass, 300.0, 320.0] for spot, mass in
            (("A", "much"), ("B", 18.0), ("C", -1.0))]  # fmt: skip

    making = taken_in(firm, sheet(K.TESTS, TESTS, *rows))

    assert [p.row for p in making.problems] == [2, 4]


def test_a_frame_of_other_readings_than_are_stored_is_told(firm):
    headers = (
        "Surface",
        "Date",
        "Spot",
        "Method",
        "Frame, inside length",
        "Frame, inside width",
        "Water poured",
        "Time",
    )
    row = [firm.surface.name, *TEST[:2], "frame", 500.0, 500.0, 5.0, 320.0]
    taken_in(firm, sheet(K.TESTS, headers, row))

    again = taken_in(firm, sheet(K.TESTS, headers, [*row[:6], 7.0, 320.0]))

    assert [n.what for n in again.notices] == ["other readings are stored"]


def test_problems_leave_nothing_of_other_kinds_of_rows(firm):
    taken_in(
        firm,
        sheet(K.CLEANINGS, ("Surface", "Date", "Method"), [firm.surface.name, "\u200b", "Vacuum sweeping"]),
    )

    assert CleaningEvent.objects.filter(surface=firm.surface).count() == TestRound.objects.count() == 0
