"""Find and stop the sediment first."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.actions import Advice
from maintenance.calc.forecast_payload import Range, SourceWorth
from maintenance.calc.needs import Needs
from maintenance.calc.sediment import FIRST, SedimentSigns, with_source_first, worth_sentence
from maintenance.calc.text import speak
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Window

TODAY = date(2026, 6, 1)
DAY = timedelta(days=1)


def advice(action, in_days=90):
    return Advice(action, Window(TODAY, TODAY + in_days * DAY), ("Because.",))


def worth(without, kept):
    loss = [Range(*[middle] * 5) for middle in (40.0, 14.0)]
    return SourceWorth(*loss, without, kept)


@pytest.mark.parametrize(
    "signs",
    [
        SedimentSigns(bare_soil=True),
        SedimentSigns(run_on=True),
        SedimentSigns(found_on=TODAY - 10 * DAY),
        SedimentSigns(faster_than=0.95),
        SedimentSigns(started_on=TODAY - 10 * DAY),
        SedimentSigns(stopped_on=TODAY - 90 * DAY, found_on=TODAY - DAY, bare_soil=True),
    ],
)
@pytest.mark.parametrize("action", [Action.REJOINT, Action.LOOK])
def test_with_a_sign_the_sediment_comes_before_restoring(signs, action):
    first, *others, restoring = with_source_first([advice(Action.TEST), advice(action)], signs, None, TODAY)

    assert (first.action, restoring.action) == (Action.SOURCE, action)
    assert first.window.due < restoring.window.due
    assert restoring.reasons == ("Because.", FIRST)
    assert others[0].reasons == ("Because.",)


@pytest.mark.parametrize(
    "signs",
    [
        SedimentSigns(),
        SedimentSigns(faster_than=0.9),
        SedimentSigns(bare_soil=True, run_on=True, stopped_on=TODAY - 90 * DAY),
    ],
)
def test_without_a_sign_nothing_is_added(signs):
    pieces = [advice(Action.REJOINT)]

    assert with_source_first(pieces, signs, None, TODAY) == pieces


def test_a_test_that_a_restoration_hangs_on_has_the_sediment_looked_for_first():
    test = replace(advice(Action.TEST), restores=True)

    first, second = with_source_first([test], SedimentSigns(bare_soil=True), None, TODAY)

    assert (first.action, second.action) == (Action.SOURCE, Action.TEST)


@pytest.mark.parametrize(
    ("saves", "said"), [("5240.00", "saves about 5,240 EUR"), ("-80.00", "saves nothing"), (None, None)]
)
def test_what_stopping_it_saves_is_said(saves, said):
    needs = Needs("EUR", Decimal(1), Decimal(1), source_saves=saves and Decimal(saves))

    first, _ = with_source_first([advice(Action.REJOINT)], SedimentSigns(bare_soil=True), None, TODAY, needs)

    told = [speak(reason, "si") for reason in first.reasons]
    assert len(told) == (2 if said else 1)
    assert said is None or said in told[-1]


def test_a_sweeping_needs_no_search_unless_the_surface_clogs_faster_than_its_like():
    pieces = [advice(Action.CLEAN)]

    assert with_source_first(pieces, SedimentSigns(bare_soil=True), None, TODAY) == pieces
    first, _ = with_source_first(pieces, SedimentSigns(faster_than=0.97), None, TODAY)
    assert (first.action, first.window.due) == (Action.SOURCE, TODAY)


@given(in_days=st.integers(0, 3000), ago=st.integers(0, 3000) | st.none(), later=st.integers(0, 20))
def test_the_day_is_never_past_never_after_restoring_and_does_not_slide_from_night_to_night(
    in_days, ago, later
):
    signs = SedimentSigns(bare_soil=True, found_on=None if ago is None else TODAY - ago * DAY)
    pieces = [advice(Action.REJOINT, in_days)]

    days = [
        next(p for p in with_source_first(pieces, signs, None, now) if p.action is Action.SOURCE).window.due
        for now in (TODAY, TODAY + min(later, in_days) * DAY)
    ]

    assert TODAY <= days[0] <= TODAY + in_days * DAY
    assert days[1] == max(days[0], TODAY + min(later, in_days) * DAY)


@pytest.mark.parametrize(
    ("without", "kept", "said"),
    [
        (None, None, "on either course it is not likely to reach its limit within ten years."),
        (TODAY, TODAY, "it must be cleaned as well."),
        (TODAY, TODAY + 700 * DAY, "likely to reach its limit by 1 May 2028, not 1 Jun 2026."),
        (TODAY, None, "not likely to reach its limit within ten years; without, it is by 1 Jun 2026."),
        (None, TODAY, "by 1 Jun 2026 it is likely to reach its limit."),
    ],
)
def test_the_worth_is_told_by_rate_and_by_day_with_and_without(without, kept, said):
    text = speak(worth_sentence(worth(without, kept)), "si").replace("\u00a0", " ")

    assert "lose 14 % of its rate in the coming year, not 40 %" in text
    assert text.endswith(said)


SOIL, WATER = "Bare soil or planting drains onto it.", "Other ground drains onto it."


@pytest.mark.parametrize(
    ("signs", "said"),
    [
        (SedimentSigns(), []),
        (SedimentSigns(bare_soil=True), [SOIL]),
        (SedimentSigns(run_on=True), [WATER]),
        (SedimentSigns(bare_soil=True, run_on=True), [SOIL]),  # the soil comes with the water
        (SedimentSigns(bare_soil=True, stopped_on=TODAY), []),
        (SedimentSigns(run_on=True, stopped_on=TODAY), []),
        (
            SedimentSigns(run_on=True, started_on=TODAY),
            ["A new source of sediment began on 1 Jun 2026.", WATER],
        ),
        (
            SedimentSigns(bare_soil=True, found_on=TODAY - DAY),
            ["The inspection of 31 May 2026 found sediment on it.", SOIL],
        ),
    ],
)
def test_each_sign_is_told_once_the_surest_first_and_none_that_was_stopped(signs, said):
    assert [speak(text, "si").replace("\u00a0", " ") for text in signs.reasons] == said


def test_clogging_faster_than_nine_in_ten_of_its_like_is_a_sign_and_says_where_to_look():
    [text] = SedimentSigns(faster_than=0.97).reasons

    assert (
        speak(text, "si")
        .replace("\u00a0", " ")
        .startswith("It clogs faster than 97 % of similar surfaces. Look")
    )
    assert not SedimentSigns(faster_than=0.90).is_fast
    assert SedimentSigns(faster_than=0.901).is_fast


@pytest.mark.parametrize(
    ("in_days", "found_days_ago", "due_in_days"),
    [
        (90, None, 60),  # a month before restoring
        (30, None, 0),
        (29, None, 0),  # never in the past
        (90, 10, 20),  # a month after it was found, where that is sooner
        (40, 10, 10),  # and not where it is later
        (90, 400, 0),
    ],
)
def test_the_sediment_is_sought_a_month_before_restoring_or_a_month_after_it_was_found(
    in_days, found_days_ago, due_in_days
):
    found_on = None if found_days_ago is None else TODAY - found_days_ago * DAY
    signs = SedimentSigns(bare_soil=True, found_on=found_on)

    [first] = [
        piece
        for piece in with_source_first([advice(Action.REJOINT, in_days)], signs, None, TODAY)
        if piece.action is Action.SOURCE
    ]

    assert first.window == Window(TODAY, TODAY + due_in_days * DAY)


def test_what_stopping_it_is_worth_is_told_last_where_it_is_known():
    pieces = [advice(Action.LOOK)]
    signs = SedimentSigns(bare_soil=True)

    told = with_source_first(pieces, signs, worth(None, None), TODAY)[0].reasons

    assert told == (SOIL, worth_sentence(worth(None, None)))
    assert with_source_first(pieces, signs, None, TODAY)[0].reasons == (SOIL,)
