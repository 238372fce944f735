"""What a report says on page one and of each surface, as text for page and paper."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest

from maintenance.calc.vocabulary import RecommendationStatus, RecordKind, SurfaceState
from reporting.calc.report_parts import AgreedCount, AgreedPart, VisitToCome, Volume, WaitingQuote, WaterPart
from reporting.calc.values import Money, UnitText
from reporting.presentation.report import report_paper, report_words
from reporting.presentation.report_front import MOST_CHANGES, NOTHING_ASKED, rate_then, stands_of
from reporting.presentation.report_surface import _letter
from tests.reporting.reports import golden_report, with_states


@pytest.fixture(scope="module")
def report():
    return golden_report()


def words_of(report, units="si"):
    return report_words(report, units)


def plainly(lines):
    return [line.replace("\xa0", " ") for line in lines]


def test_quotes_are_asked_first_and_then_undecided_advice(report):
    quote = WaitingQuote(uuid4(), "Quote 2026-0007", Money(Decimal("595"), "EUR"), date(2026, 7, 10), 1)

    asked = plainly(words_of(replace(report, quotes=(quote,)))["asked"])

    assert asked[0] == "Answer Quote 2026-0007, 595.00 EUR, by 10 Jul 2026."
    undecided = [one for surface in report.surfaces for one in surface.advice if not one.is_decided]
    assert len(asked) == 1 + len(undecided)
    assert undecided
    assert all(line.startswith("Decide on “") for line in asked[1:])


def test_decided_advice_is_asked_no_more(report):
    decided = tuple(
        replace(
            surface,
            advice=tuple(replace(one, status=RecommendationStatus.PLANNED) for one in surface.advice),
        )
        for surface in report.surfaces
    )

    assert words_of(replace(report, quotes=(), surfaces=decided))["asked"] == [NOTHING_ASKED]


def test_what_changed_is_told_newest_first_and_never_fills_the_page(report):
    (surface,) = report.surfaces
    cleaning = next(line for line in surface.record if line.kind is RecordKind.CLEANING and line.is_active)
    many = tuple(
        replace(cleaning, key=uuid4(), on=cleaning.on - timedelta(days=number), findings=())
        for number in range(MOST_CHANGES + 3)
    )
    busy = replace(report, surfaces=(replace(surface, record=many),))

    changes = plainly(words_of(busy)["changes"])

    assert len(changes) == MOST_CHANGES + 1
    assert changes[-1] == "and 3 more, with their surfaces"
    assert "vacuum sweeping" in changes[0]


def test_what_was_set_aside_changed_nothing(report):
    (surface,) = report.surfaces
    aside = tuple(replace(line, is_active=False) for line in surface.record)

    assert words_of(replace(report, surfaces=(replace(surface, record=aside),)))["changes"] == []


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (AgreedCount(4, 4, 0), "4 of 4 done"),
        (AgreedCount(4, 2, 1, ("Ramp", "Yard")), "2 of 4 done, 1 more than agreed; missing on Ramp, Yard"),
        (AgreedCount(0, 0, 2), "none due in this time, 2 more than agreed"),
    ],
)
def test_the_agreement_is_told_due_against_done(report, count, said):
    agreed = AgreedPart(count, AgreedCount(0, 0, 0))

    facts = dict(words_of(replace(report, agreed=agreed))["facts"])

    assert facts["Agreed test rounds"] == said
    assert "Agreed cleanings" not in facts


def test_each_departure_stands_once_by_a_letter(report):
    rounds = words_of(report)["surfaces"][0]["rounds"]
    noted = next(one for one in rounds if one["notes"])

    letters = [letter for letter, _ in noted["notes"]]
    assert letters == sorted(set(letters))
    assert {part for test in noted["tests"] for part in test["notes"].split(", ") if part} == set(letters)


def test_a_cleaning_is_told_with_the_rate_before_and_after(report):
    (cleaning, *_) = words_of(report)["surfaces"][0]["cleanings"]

    assert cleaning["before"].endswith(" mm/h")
    assert cleaning["after"].endswith(" mm/h")
    assert "range" in cleaning["gain"]


def test_lines_that_have_tables_of_their_own_are_not_told_twice(report):
    (surface,) = report.surfaces
    said = words_of(report)["surfaces"][0]

    others = [line for line in surface.record if line.kind not in (RecordKind.ROUND, RecordKind.CLEANING)]
    aside = [line for line in surface.record if not line.is_active]
    assert len(said["record"]) >= len(others)
    assert all(line.state_reason in str(said["record"]) for line in aside if line.state_reason)
    assert len(said["rounds"]) == len(surface.rounds)


def test_the_rate_at_the_beginning_is_that_of_the_day_or_unknown(report):
    (surface,) = report.surfaces
    past = surface.forecast.decline.record.past

    first = rate_then(surface, replace(report, since=surface.standing.opened_on))
    before = rate_then(surface, replace(report, since=surface.standing.opened_on - timedelta(days=1)))
    bare = rate_then(replace(surface, forecast=None), report)

    assert first == past.median[0]
    assert (before, bare) == (None, None)


def test_what_older_editions_kept_becomes_a_paper_too():
    for number in (1, 2, 3, 4):
        kept = golden_report(number)
        words = words_of(kept, "us")

        paper = report_paper(kept, words)

        assert words["visits"] == []
        assert words["surfaces"][0]["rounds"] == []
        assert {"stands", "decline-0", "section-0"} <= set(paper.drawings)


def test_drawings_tell_the_paper_how_high_they_are(report):
    drawn = report_paper(report, words_of(report)).data["drawn"]

    assert set(drawn) == {"stands", "decline-0", "section-0", "plan-0"}
    assert all(0.05 < share < 3 for share in drawn.values())


# ---- Water ----


def volume(low, middle, high):
    return Volume(low, middle, high)


WET = WaterPart(
    "Quay gauge",
    covered_days=90.2,
    days=100,
    rain_mm=110.0,
    came=volume(100.0, 100.0, 100.0),
    ground=volume(80.0, 90.0, 95.0),
    kept=None,
    ran_off=volume(1.0, 2.0, 3.0),
    lost=volume(4.0, 5.0, 6.0),
    how=(UnitText("Step by step.", "Step by step."),),
)


def with_water(report, *parts):
    (surface,) = report.surfaces
    return replace(report, surfaces=tuple(replace(surface, water=part) for part in parts))


def test_water_of_several_surfaces_is_added_up_with_its_range(report):
    other = replace(
        WET, ground=volume(8.0, 9.0, 10.0), kept=volume(1.0, 1.0, 1.0), days=40, covered_days=40.0
    )

    facts = dict(words_of(with_water(report, WET, other))["facts"])

    assert facts["Water put into the ground"] == (
        "99 m³ (88 m³ to 105 m³); estimated, the rain record covers 90 of 100 days"
    )
    assert facts["Kept for irrigation"] == "1 m³; estimated"


def test_surfaces_without_an_estimate_are_counted_out_and_said_to_be(report):
    dry = WaterPart("Quay gauge", days=100, problem="No layer of stone is recorded.")

    facts = dict(words_of(with_water(report, WET, dry, None))["facts"])

    assert facts["Water put into the ground"].startswith("90 m³ (80 m³ to 95 m³); 1 of 3 surfaces; estimated")
    assert "Kept for irrigation" not in facts


def test_where_nothing_can_be_said_of_water_page_one_is_silent_and_the_surface_says_why(report):
    dry = WaterPart("Quay gauge", days=100, problem="No layer of stone is recorded.")

    words = words_of(with_water(report, dry))

    assert not any("ater" in name for name, _ in words["facts"])
    assert words["surfaces"][0]["water"] == {
        "said": "",
        "problem": "No layer of stone is recorded.",
        "rows": [],
        "by_record": "",
    }


def test_the_rows_of_water_leave_out_a_store_that_there_is_not(report):
    (with_store, without) = (
        words_of(with_water(report, part))["surfaces"][0]["water"]
        for part in (replace(WET, kept=volume(0.0, 0.0, 0.0)), WET)
    )

    assert [name for name, _ in without["rows"]] == [
        "Fell on it and ran on to it",
        "Put into the ground",
        "Ran off",
        "Only wetted the ground",
    ]
    assert ["Kept for irrigation", "0 m³"] in with_store["rows"]
    assert without["said"] == "Quay gauge: 110 mm of rain; the rain record covers 90 of 100 days."


def test_how_water_was_estimated_stands_once_however_many_surfaces_there_are(report):
    assert words_of(with_water(report, WET, WET))["water_how"] == ["Step by step."]


# ---- Page one ----


def test_inspections_and_open_findings_are_told_where_there_are_any(report):
    bare = words_of(replace(report, rounds_done=1, cleanings_done=2, inspections_done=0, open_findings=0))
    full = words_of(replace(report, rounds_done=1, cleanings_done=2, inspections_done=1, open_findings=1))

    assert bare["done"] == "1 test round, 2 cleanings"
    assert full["done"] == "1 test round, 2 cleanings, 1 inspection"
    assert "Found on inspections" not in dict(bare["facts"])
    assert dict(full["facts"])["Found on inspections"] == "1 finding still to be corrected"


def test_the_look_of_the_verdict_is_that_of_the_worst_surface(report):
    made = with_states(report, SurfaceState.DRAINING, SurfaceState.NOT_TESTED, SurfaceState.WATCH)

    assert words_of(made)["verdict_tone"] == SurfaceState.WATCH.value
    assert words_of(replace(report, surfaces=()))["verdict_tone"] == SurfaceState.NOT_TESTED.value


def test_a_surface_that_opens_later_stands_in_no_picture_and_says_its_day(report):
    (surface,) = report.surfaces
    later = replace(surface, standing=replace(surface.standing, opens_later=True, opened_on=date(2027, 1, 2)))

    words = words_of(replace(report, surfaces=(later,)))["surfaces"][0]

    assert stands_of(replace(report, surfaces=(later,))) == []
    assert words["rate_now"].replace("\xa0", " ") == "opens 2 Jan 2027"
    assert "not open yet: opens" in words["about"]


@pytest.mark.parametrize(("number", "letter"), [(0, "a"), (25, "z"), (26, "aa"), (27, "bb"), (52, "aaa")])
def test_there_is_a_letter_for_every_departure(number, letter):
    assert _letter(number) == letter


def test_what_comes_next_at_a_surface_names_the_days_on_which_the_crew_comes_there():
    first, second = UUID(int=1), UUID(int=2)
    report = with_states(golden_report(), SurfaceState.DRAINING, SurfaceState.DRAINING)
    surfaces = [
        replace(each, standing=replace(each.standing, key=key))
        for each, key in zip(report.surfaces, (first, second), strict=True)
    ]
    visit = VisitToCome(
        date(2026, 12, 9), ("Clean: Yard 1", "Test: Yard 1", "Test: Yard 2"), "", (first, first, second)
    )
    older = VisitToCome(date(2026, 12, 10), ("Clean: Yard 1",))

    words = report_words(replace(report, surfaces=tuple(surfaces), visits=(visit, older)), "si")

    assert [surface["coming"] for surface in words["surfaces"]] == [
        ["The crew comes on 9\N{NO-BREAK SPACE}Dec\N{NO-BREAK SPACE}2026. Clean: Yard 1; Test: Yard 1."],
        ["The crew comes on 9\N{NO-BREAK SPACE}Dec\N{NO-BREAK SPACE}2026. Test: Yard 2."],
    ]
