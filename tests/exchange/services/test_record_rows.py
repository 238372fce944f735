"""Rounds, tests and cleanings of sheets: which round a test belongs to, what is told of a result, what is there."""

from datetime import date

import pytest

from exchange.calc.kinds import SheetKind
from qa.models import InfiltrationTest, TestRound
from tests.exchange.sheets import prepared, sheet, taken_in
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SurfaceFactory,
)

K = SheetKind
DAY = date(2024, 6, 3)
RING = {"Prewet mass": 3.6, "Prewet time": 60.0, "Mass": 18.0, "Ring": 300.0, "Time": 320.0}


def ring_tests(firm, *rows):
    """Rows of ring tests; each says what is special about it."""
    usual = {"Surface": firm.surface.name, "Date": DAY, "Spot": "A", **RING}
    whole = [usual | row for row in rows]
    headers = tuple(dict.fromkeys(key for row in whole for key in row))
    return sheet(K.TESTS, headers, *([row.get(key) for key in headers] for row in whole))


def rounds_of(firm, *rows):
    usual = {"Surface": firm.surface.name, "Date": DAY}
    whole = [usual | row for row in rows]
    headers = tuple(dict.fromkeys(key for row in whole for key in row))
    return sheet(K.ROUNDS, headers, *([row.get(key) for key in headers] for row in whole))


def cleanings_of(firm, *rows):
    headers = ("Surface", "Date", "Method", "Cost")
    return sheet(K.CLEANINGS, headers, *([firm.surface.name, *row] for row in rows))


def told(remarks):
    return [(r.row, r.column, r.what) for r in remarks]


# ---- the round of a test -------------------------------------------------------------------------------------


def test_tests_of_one_day_and_purpose_share_a_round_and_others_have_their_own(firm):
    rows = [
        {"Spot": "A"},
        {"Spot": "B"},
        {"Spot": "C", "Date": date(2024, 6, 4)},
        {"Spot": "D", "Purpose": "Acceptance"},
    ]

    making = taken_in(firm, ring_tests(firm, *rows))

    assert making.problems == []
    round_of = {test.spot: test.round_id for test in InfiltrationTest.objects.all()}
    assert round_of["A"] == round_of["B"]
    assert len(set(round_of.values())) == 3
    assert len(making.new[K.ROUNDS]) == 3


def test_a_round_that_is_there_is_used_and_none_is_made_beside_it(firm):
    there = RoundFactory(surface=firm.surface, tested_on=DAY)

    making = taken_in(firm, ring_tests(firm, {}))

    assert making.problems == []
    assert K.ROUNDS not in making.new
    assert InfiltrationTest.objects.get().round == there


def test_a_round_that_was_set_aside_is_not_filled(firm):
    void = RoundFactory(surface=firm.surface, tested_on=DAY, state="void")

    taken_in(firm, ring_tests(firm, {}))

    assert InfiltrationTest.objects.get().round != void


def test_two_rounds_of_a_day_are_told_apart_by_their_ids_alone(firm):
    for _ in range(2):
        RoundFactory(surface=firm.surface, tested_on=DAY)

    (problem,) = prepared(firm, ring_tests(firm, {})).problems

    assert (problem.column, problem.what) == (
        "Date",
        "There are several rounds of this purpose on this surface that day",
    )
    assert "Give rounds and tests an ID each" in problem.remedy


def test_two_rounds_with_ids_on_one_day_are_two_and_tests_name_theirs(firm):
    rounds = rounds_of(firm, {"ID": "R1", "Hours since the last rain": 72.0}, {"ID": "R2"})
    tests = sheet(K.TESTS, ("Round", "Spot", *RING), ["R1", "A", *RING.values()], ["R2", "B", *RING.values()])

    making = taken_in(firm, rounds, tests)

    assert making.problems == []
    assert TestRound.objects.count() == 2
    assert InfiltrationTest.objects.get(spot="A").round.hours_since_rain == 72.0
    assert InfiltrationTest.objects.get(spot="B").round.hours_since_rain is None


def test_two_rounds_of_a_day_without_ids_are_told(firm):
    making = prepared(firm, rounds_of(firm, {}, {}))

    assert [(p.row, p.column) for p in making.problems] == [(3, "Date")]


def test_a_round_that_is_nowhere_is_told_with_what_to_do(firm):
    headers = ("Round", "Spot", *RING)

    (problem,) = prepared(firm, sheet(K.TESTS, headers, ["R9", "A", *RING.values()])).problems

    assert (problem.column, problem.value, problem.what) == ("Round", "R9", "There is no test round “R9”")
    assert "site, surface and date" in problem.remedy


def test_tests_of_a_round_that_cannot_be_made_are_passed_over(firm):
    rounds = rounds_of(firm, {"ID": "R1", "Air temperature": "warm"})
    tests = sheet(K.TESTS, ("Round", "Spot", *RING), ["R1", "A", *RING.values()])

    making = prepared(firm, rounds, tests)

    assert told(making.problems) == [(2, "Air temperature", "Air temperature is not a number")]
    assert making.new == {}


def test_a_round_that_is_there_is_counted_and_what_differs_is_told(firm):
    RoundFactory(surface=firm.surface, tested_on=DAY, hours_since_rain=48.0)

    making = taken_in(firm, rounds_of(firm, {"Hours since the last rain": 24.0}))

    assert (making.there, making.differ, making.new) == ({K.ROUNDS: 1}, {K.ROUNDS: 1}, {})
    assert told(making.notices) == [(2, "Hours since the last rain", "48 is stored")]


def test_a_note_of_a_test_is_no_note_of_the_round_made_for_it(firm):
    taken_in(firm, ring_tests(firm, {"Note": "The ring rocked."}))

    test = InfiltrationTest.objects.get()
    assert (test.note, test.round.note) == ("The ring rocked.", "")


# ---- what comes out ------------------------------------------------------------------------------------------


def rate_mm_h(mass_kg, diameter_mm, elapsed_s):
    """ASTM C1781, from memory: I = K M / (D² t), with K = 4 583 666 000 mm³ s/(kg h) in SI units."""
    return 4_583_666_000 * mass_kg / (diameter_mm**2 * elapsed_s)


def test_the_rate_is_that_of_the_standard(firm):
    taken_in(firm, ring_tests(firm, {}))

    assert InfiltrationTest.objects.get().rate_mm_h == pytest.approx(rate_mm_h(18.0, 300.0, 320.0), rel=1e-3)


@pytest.mark.parametrize(
    ("share", "is_told"), [(1.0, False), (1.015, False), (1.03, True), (0.5, True), (25.4, True)]
)
def test_a_rate_in_the_sheet_is_checked_and_never_stored(firm, share, is_told):
    said = round(rate_mm_h(18.0, 300.0, 320.0) * share, 1)

    making = taken_in(firm, ring_tests(firm, {"Rate (mm/h)": said}))

    notices = [notice for notice in making.notices if notice.column == "Rate (mm/h)"]
    assert len(notices) == is_told
    assert all("The readings are stored" in notice.remedy for notice in notices)
    assert InfiltrationTest.objects.get().rate_mm_h == pytest.approx(rate_mm_h(18.0, 300.0, 320.0), rel=1e-3)


def test_a_rate_beside_only_some_readings_is_told_as_what_is_missing(firm):
    making = prepared(firm, ring_tests(firm, {"Rate (mm/h)": 500.0, "Mass": None}))

    assert {problem.column for problem in making.problems} == {"Mass"}


def test_a_test_that_will_not_count_is_told_before_it_is_stored(firm):
    making = taken_in(firm, ring_tests(firm, {"Water leaked past the seal": "yes"}))

    notices = [notice.what for notice in making.notices]
    assert any(
        what.startswith(("it will not count: ", "it will count as a bound only: ")) for what in notices
    )


def test_longer_than_stores_a_bound_unless_the_sheet_says_how_it_ended(firm):
    making = taken_in(firm, ring_tests(firm, {"Spot": "A", "Time": "> 1800"}, {"Spot": "B", "Time": "1800"}))

    assert making.problems == []
    assert InfiltrationTest.objects.get(spot="A").ended == "still_ponded"
    assert InfiltrationTest.objects.get(spot="B").ended == "drained"


# ---- spots, repeats, there already -----------------------------------------------------------------------------


def test_a_label_of_a_fixed_location_is_that_location_and_any_other_a_spot_in_words(firm):
    place = LocationFactory(surface=firm.surface, label="A1")
    LocationFactory(surface=SurfaceFactory(site=firm.site), label="B1")

    taken_in(firm, ring_tests(firm, {"Spot": " a1"}, {"Spot": "B1"}))

    assert set(InfiltrationTest.objects.values_list("location", "spot")) == {(place.pk, ""), (None, "B1")}


def test_a_location_of_the_same_import_is_used_too(firm):
    spots = sheet(K.LOCATIONS, ("Surface", "Label"), [firm.surface.name, "A1"])

    making = taken_in(firm, ring_tests(firm, {"Spot": "A1"}), spots)

    assert making.problems == []
    assert InfiltrationTest.objects.get().location.label == "A1"


def test_tests_keep_the_order_of_their_rows(firm):
    rows = [{"Time": time_s} for time_s in (320.0, 340.0, 360.0)]

    taken_in(firm, ring_tests(firm, *rows))

    found = InfiltrationTest.objects.order_by("sequence")
    assert [test.elapsed_s for test in found] == [320.0, 340.0, 360.0]
    assert [test.sequence for test in found] == [1, 2, 3]
    made_at = [test.made_at for test in found]
    assert made_at == sorted(made_at)


def test_a_repeat_beyond_those_that_are_there_is_new(firm):
    taken_in(firm, ring_tests(firm, {"Time": 320.0}))

    making = taken_in(firm, ring_tests(firm, {"Time": 320.0}, {"Time": 340.0}))

    assert (making.there[K.TESTS], len(making.new[K.TESTS])) == (1, 1)
    assert InfiltrationTest.objects.count() == 2


@pytest.mark.parametrize(
    "spots",
    [["B"], ["B", "A"], ["C", "A", "B"], ["A", "A", "B"]],
    ids=["one", "turned", "one more", "a repeat"],
)
def test_rows_sent_again_in_another_order_or_among_others_are_not_made_twice(firm, spots):
    taken_in(firm, ring_tests(firm, {"Spot": "A"}, {"Spot": "B", "Time": 350.0}))

    times = {"B": 350.0}
    making = taken_in(
        firm, ring_tests(firm, *({"Spot": spot, "Time": times.get(spot, 320.0)} for spot in spots))
    )

    assert (making.problems, making.notices) == ([], [])
    assert len(making.new.get(K.TESTS, ())) == len(spots) - len(set(spots) & {"A", "B"})
    assert InfiltrationTest.objects.filter(spot="B").count() == 1


def test_a_test_of_a_page_is_known_by_its_place_and_what_differs_is_told(firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=DAY)
    InfiltrationTestFactory(round=round_, spot="A", test_mass=18.0, elapsed_s=310.0)

    making = taken_in(firm, ring_tests(firm, {}))

    assert K.TESTS not in making.new
    assert [what for _, column, what in told(making.notices) if column == "Time"] == ["310 is stored"]


def test_a_cleaning_is_known_by_surface_day_and_method(firm):
    CleaningFactory(surface=firm.surface, cleaned_on=DAY, method="vacuum", cost="420.00")
    rows = [[DAY, "Vacuum sweeping", 420.0], [DAY, "Vacuum sweeping", 99.0], [DAY, "Broom or blower", None],
            [date(2024, 6, 4), "Vacuum sweeping", None]]  # fmt: skip

    making = taken_in(firm, cleanings_of(firm, *rows))

    assert making.problems == []
    assert (making.there, making.differ) == ({K.CLEANINGS: 1}, {K.CLEANINGS: 0})
    assert len(making.new[K.CLEANINGS]) == 3
    assert firm.surface.cleanings.count() == 4


def test_a_cleaning_that_was_set_aside_is_not_in_the_way_of_another(firm):
    CleaningFactory(surface=firm.surface, cleaned_on=DAY, method="vacuum", state="void")

    making = taken_in(firm, cleanings_of(firm, [DAY, "Vacuum sweeping", None]))

    assert len(making.new[K.CLEANINGS]) == 1


def test_what_an_import_records_its_sender_recorded(firm):
    taken_in(firm, ring_tests(firm, {}), cleanings_of(firm, [DAY, "Vacuum sweeping", None]))

    test = InfiltrationTest.objects.get()
    assert {test.recorded_by, test.round.recorded_by, firm.surface.cleanings.get().recorded_by} == {
        firm.coordinator
    }
