"""The one sentence in which a site is told."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from uuid import uuid4

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.calc.vocabulary import Action, RecommendationStatus, SurfaceState
from reporting.calc.parts import AdvicePart
from reporting.calc.report_parts import AgreedCount, AgreedPart
from reporting.calc.verdict import number_word, site_sentence, verdict
from tests.reporting.reports import golden_report, with_states

GOOD, WATCH, SOON, BELOW, NEW = (
    SurfaceState.DRAINING,
    SurfaceState.WATCH,
    SurfaceState.CLEAN_SOON,
    SurfaceState.BELOW_LIMIT,
    SurfaceState.NOT_TESTED,
)


@cache
def golden():
    return golden_report()


@pytest.fixture(scope="module")
def report():
    return replace(golden(), agreed=None)


def advised(report, number, action, due_on):
    """The report with a piece of advice on one of its surfaces."""
    surface = report.surfaces[number]
    part = AdvicePart(
        surface.standing.key,
        "Clean",
        due_on,
        (),
        RecommendationStatus.OPEN,
        None,
        surface.standing,
        action=action,
    )
    surfaces = [*report.surfaces]
    surfaces[number] = replace(surface, advice=(part,))
    return replace(report, surfaces=tuple(surfaces))


@pytest.mark.parametrize(
    ("states", "said"),
    [
        ([], "No surface is in service at this site."),
        ([GOOD], "The surface drains well."),
        ([BELOW], "The surface is below its limit."),
        ([GOOD, GOOD, GOOD], "All three surfaces drain well."),
        (
            [GOOD, GOOD, BELOW, WATCH],
            "Two of four surfaces drain well; one is below its limit; one is nearing its",
        ),
        ([GOOD, SOON, SOON], "One of three surfaces drains well; two need cleaning soon."),
        ([NEW, NEW], "None of the two surfaces is known to drain well; two are not tested yet."),
        ([GOOD] * 13, "All 13 surfaces drain well."),
    ],
)
def test_the_verdict_counts_the_surfaces_the_worst_first(report, states, said):
    assert verdict(with_states(report, *states)).startswith(said)


def test_what_is_to_be_done_is_said_with_its_day(report):
    made = with_states(report, GOOD, BELOW, made_on=date(2026, 4, 1))

    ahead = verdict(advised(made, 1, Action.CLEAN, date(2026, 5, 3))).replace("\xa0", " ")
    late = verdict(advised(made, 1, Action.REJOINT, date(2026, 3, 3))).replace("\xa0", " ")

    assert (
        ahead
        == "One of two surfaces drains well; one is below its limit and should be cleaned by 3 May 2026."
    )
    assert late.endswith("and should have been restored by 3 Mar 2026.")


def test_of_several_the_first_due_is_named(report):
    made = with_states(report, BELOW, BELOW, made_on=date(2026, 4, 1))
    both = advised(advised(made, 0, Action.CLEAN, date(2026, 6, 1)), 1, Action.TEST, date(2026, 5, 1))

    said = verdict(both).replace("\xa0", " ")

    assert said.endswith("two are below their limit and the first should be tested by 1 May 2026.")


def test_a_single_surface_is_told_with_what_is_to_be_done(report):
    made = with_states(report, SOON, made_on=date(2026, 4, 1))

    said = verdict(advised(made, 0, Action.CLEAN, date(2026, 5, 1))).replace("\xa0", " ")

    assert said == "The surface needs cleaning soon; it should be cleaned by 1 May 2026."


def test_advice_kept_without_its_kind_is_left_out(report):
    made = with_states(report, BELOW, GOOD)

    assert "should be" not in verdict(advised(made, 0, None, made.made_on + timedelta(days=9)))


@pytest.mark.parametrize(
    ("tests", "cleanings", "said"),
    [
        (AgreedCount(2, 2, 0), AgreedCount(0, 0, 3), "All two surfaces drain well."),
        (
            AgreedCount(2, 1, 0),
            AgreedCount(0, 0, 0),
            "; one test round of the agreement is still to be done.",
        ),
        (
            AgreedCount(4, 1, 0),
            AgreedCount(3, 2, 0),
            "; three test rounds and one cleaning of the agreement are",
        ),
        (
            AgreedCount(0, 0, 0),
            AgreedCount(2, 0, 0),
            "; two cleanings of the agreement are still to be done.",
        ),
    ],
)
def test_what_is_missing_of_the_agreement_is_part_of_it(report, tests, cleanings, said):
    assert said in verdict(with_states(report, GOOD, GOOD, agreed=AgreedPart(tests, cleanings)))


def test_a_surface_that_opens_later_is_not_judged(report):
    made = with_states(report, NEW)
    (only,) = made.surfaces
    later = replace(only.standing, opens_later=True, opened_on=date(2027, 1, 2))

    said = verdict(replace(made, surfaces=(replace(only, standing=later),)))

    assert said.replace("\xa0", " ") == "The surface is not open yet: it opens on 2 Jan 2027."


def test_small_counts_are_words():
    assert [number_word(n) for n in (0, 1, 12, 13)] == ["none", "one", "twelve", "13"]


# ---- A site as it stands today, on a page that is no report ----


def stands(report, *states):
    return [surface.standing for surface in with_states(report, *states).surfaces]


def test_a_site_is_told_with_the_day_of_the_next_visit(report):
    said = site_sentence(stands(report, GOOD, GOOD), next_visit_on=date(2026, 7, 2)).replace("\xa0", " ")

    assert said == "All two surfaces drain well. Somebody comes next on 2 Jul 2026."
    assert site_sentence(stands(report, GOOD, GOOD)) == "All two surfaces drain well."


def test_surfaces_that_were_removed_are_counted_no_more(report):
    one, two = stands(report, BELOW, GOOD)
    gone = replace(one, removed_on=date(2026, 1, 1))

    assert site_sentence([gone, two]) == "The surface drains well."
    assert site_sentence([gone]) == site_sentence([]) == "No surface is in service at this site."


def released(standing, action=Action.CLEAN, due_on=date(2030, 5, 3), **more):
    return AdvicePart(
        standing.key,
        "Clean",
        due_on,
        (),
        RecommendationStatus.OPEN,
        None,
        standing,
        **{"action": action, "is_as_released": True} | more,
    )


def test_only_what_was_released_is_told_to_be_done(report):
    (standing,) = stands(report, BELOW)

    told = site_sentence([standing], [released(standing)]).replace("\xa0", " ")
    untold = site_sentence([standing], [released(standing, is_as_released=False)])

    assert told == "The surface is below its limit; it should be cleaned by 3 May 2030."
    assert untold == "The surface is below its limit."


def test_advice_is_told_of_the_surface_that_it_is_for(report):
    standing, other = stands(report, BELOW, GOOD)
    other = replace(other, key=uuid4())

    said = site_sentence([standing, other], [released(other)])

    assert said == "One of two surfaces drains well; one is below its limit."


@pytest.mark.parametrize(
    ("days", "words"), [(0, "should be cleaned by"), (1, "should be"), (-1, "should have been cleaned by")]
)
def test_what_is_due_today_is_not_late(report, days, words):
    (standing,) = stands(report, BELOW)

    assert words in site_sentence(
        [standing], [released(standing, due_on=standing.today + timedelta(days=days))]
    )


@pytest.mark.parametrize(
    ("action", "done"),
    [
        (Action.CLEAN, "cleaned"),
        (Action.REJOINT, "restored"),
        (Action.TEST, "tested"),
        (Action.LOOK, "looked at by an engineer"),
        (Action.INSPECT, "inspected"),
        (Action.REPAIR, "repaired"),
    ],
)
def test_every_kind_of_work_has_its_word(report, action, done):
    (standing,) = stands(report, BELOW)

    assert f"it should be {done} by" in site_sentence([standing], [released(standing, action)])


@settings(max_examples=60, deadline=None)
@given(states=st.lists(st.sampled_from(list(SurfaceState)), max_size=30))
def test_whatever_stands_there_is_one_sentence_without_a_hole(states):
    said = site_sentence(stands(replace(golden(), agreed=None), *states))

    assert said.endswith(".")
    assert said.count(".") == 1
    assert "None " not in said or SurfaceState.DRAINING not in states
    assert not any(hole in said for hole in ("  ", ";.", "; ;", " ;", "SurfaceState"))
