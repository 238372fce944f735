"""Forecasts in sentences, and figures for the chart: the same numbers, each with its unit."""

import json
from datetime import date

import pytest

from maintenance.calc.forecast_payload import CauseOfDecline, Range
from maintenance.models import Forecast
from maintenance.presentation.charts import decline_figure
from maintenance.presentation.wording import forecast_sentence, kind_sentence
from maintenance.selectors.records import decline_record, record_of, state_counts
from maintenance.services import forecasts
from qa.presentation.spot_chart import spots_figure
from qa.selectors.rounds import round_result
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
    field_readings,
    small_outlook,
)

MADE = date(2026, 6, 1)


def forecast(**changes):
    values = {
        "made_on": MADE,
        "rate_now_mm_h": 900.0,
        "rate_low_mm_h": 600.0,
        "rate_high_mm_h": 1400.0,
        "share_below_now": 0.02,
        "below_10_on": date(2027, 3, 1),
        "below_50_on": date(2029, 8, 15),
        "below_90_on": date(2033, 1, 1),
    }
    return Forecast(**values | changes)


def said(units="si", **changes):
    surface = SurfaceFactory.build(site=None, limit_mm_h=254.0)
    return forecast_sentence(surface, forecast(**changes), small_outlook(), units)


def test_the_sentence_holds_rate_range_limit_and_dates_with_units():
    text = said()

    assert "900 mm/h today" in text
    assert "between 600 mm/h and 1400 mm/h" in text
    assert "below its limit of 254 mm/h today is 2\u00a0%" in text
    assert "between 1\u00a0Mar\u00a02027 (10 % chance) and 1\u00a0Jan\u00a02033 (90 % chance)" in text


def test_the_sentence_follows_the_readers_units():
    text = said("us")

    assert "35.4 in/h today" in text
    assert "limit of 10 in/h" in text


@pytest.mark.parametrize(
    ("dates", "words"),
    [
        (
            {"below_10_on": None, "below_50_on": None, "below_90_on": None},
            "not expected to come near the limit within ten years",
        ),
        ({"below_50_on": None, "below_90_on": None}, "but not one half within ten years"),
        ({"below_90_on": None}, "more than ten years from now"),
        ({"below_10_on": MADE}, "between today (10 % chance)"),
        (
            {"below_10_on": MADE, "below_50_on": MADE, "share_below_now": 0.6},
            "probably below its limit already",
        ),
        (
            {"below_10_on": MADE, "below_50_on": MADE, "share_below_now": 0.97},
            "It is already below its limit.",
        ),
    ],
)
def test_the_sentence_never_claims_more_than_the_forecast(dates, words):
    assert words in said(**dates)


def test_before_opening_the_sentence_speaks_of_opening_and_not_of_today():
    surface = SurfaceFactory.build(site=None, limit_mm_h=254.0, opened_on=date(2026, 9, 1))

    text = forecast_sentence(surface, forecast(), small_outlook(), "si")

    assert "opens on 1\u00a0Sep\u00a02026. It is then expected to take in 900 mm/h" in text
    assert "opens below its limit of 254 mm/h is 2\u00a0%" in text
    assert "today" not in text


def test_an_untested_surface_is_not_said_to_decline_in_its_own_way():
    row = forecast(surface_state="not_tested")

    assert kind_sentence(row, small_outlook()).startswith(
        "Surfaces of its kind lose about 12 % of their rate a year"
    )
    assert "ordinary" not in kind_sentence(row, small_outlook())


@pytest.mark.parametrize(
    ("share", "words"), [(0.0001, "under 1 %"), (0.9999, "over 99 %"), (1.0, "over 99 %"), (0.0, "under 1 %")]
)
def test_no_chance_is_said_to_be_certain(share, words):
    assert f"today is {words}." in said(share_below_now=share)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (0.95, "faster than 95\u00a0%"),
        (0.997, "faster than over 99 %"),
        (0.05, "more slowly than nine in ten similar surfaces"),
        (0.5, "ordinary"),
    ],
)
def test_a_decline_is_placed_among_its_kind(place, words):
    row = forecast(surface_state="draining")

    assert words in kind_sentence(row, small_outlook(decline_percentile=place))


SOIL = CauseOfDecline("bare_soil", Range(12.4, 4.0, 20.0, 2.0, 25.0), 0.6)
TREES = CauseOfDecline("trees", Range(3.1, 0.0, 8.0, -1.0, 10.0), 0.8)


def test_recorded_causes_are_named_first_and_the_place_is_among_surfaces_without_them():
    outlook = small_outlook(
        decline_percentile=0.5, decline_percentile_plain=0.93, recorded_causes=(SOIL, TREES)
    )

    said = kind_sentence(forecast(surface_state="draining"), outlook)

    assert (
        "Recorded causes: bare soil or planting drains onto it (adds about 12 % a year); trees stand over it (adds "
        "about 3 % a year). It clogs faster than 93\u00a0% of similar surfaces without the conditions."
    ) in said
    assert "ordinary" not in said


def test_a_source_that_was_stopped_is_named():
    outlook = small_outlook(
        decline_percentile_plain=0.5, recorded_causes=(SOIL,), source_stopped_on=date(2026, 5, 3)
    )

    said = kind_sentence(forecast(surface_state="draining"), outlook)

    assert (
        "A source was stopped on 3\u00a0May\u00a02026. It clogs faster than 50\u00a0% of similar surfaces"
        in said
    )


@pytest.fixture
def figures(db):
    """The chart of a real forecast, in both unit systems."""
    surface = SurfaceFactory(limit_mm_h=254.0)
    for day, seconds in ((date(2023, 6, 1), 100.0), (date(2024, 6, 1), 200.0)):
        InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=day), elapsed_s=seconds)
    InfiltrationTestFactory(
        round=RoundFactory(surface=surface, tested_on=date(2025, 6, 1)), ended="still_ponded", elapsed_s=900.0
    )
    CleaningFactory(surface=surface, cleaned_on=date(2024, 7, 1))
    CleaningFactory(surface=surface, cleaned_on=date(2024, 8, 1), state="void")
    forecasts.refresh(surface.pk)
    row = Forecast.objects.get(surface=surface)
    record = decline_record(surface, row, row.outlook, record_of(surface, row))
    return {units: decline_figure(record, units) for units in ("si", "us")}


def trace(figure, name):
    return next(t for t in figure["data"] if t["name"] == name)


def test_a_chart_is_plain_data(figures):
    for figure in figures.values():
        assert json.loads(json.dumps(figure, allow_nan=False))["data"]


def test_a_chart_draws_every_test_with_its_bound_and_every_cleaning_that_counts(figures):
    figure = figures["si"]

    assert len(trace(figure, "single test")["x"]) == 3
    assert "triangle-down-open" in trace(figure, "single test")["marker"]["symbol"]
    assert list(trace(figure, "cleaning")["x"]) == ["2024-07-01"]


def test_a_place_named_like_a_tag_shows_as_typed(db):
    surface = SurfaceFactory()
    test = InfiltrationTestFactory(round=RoundFactory(surface=surface), spot='<a href="x">y</a>')
    forecasts.refresh(surface.pk)
    row = Forecast.objects.get(surface=surface)

    figure = decline_figure(decline_record(surface, row, row.outlook, record_of(surface, row)), "si")

    assert test.place not in trace(figure, "single test")["text"][0]
    assert "&lt;a href" in trace(figure, "single test")["text"][0]


def test_a_chart_begins_before_an_acceptance_test_made_ahead_of_the_opening(db):
    surface = SurfaceFactory(opened_on=date(2025, 6, 1))
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=date(2025, 5, 20)))
    forecasts.refresh(surface.pk)
    row = Forecast.objects.get(surface=surface)

    figure = decline_figure(decline_record(surface, row, row.outlook, record_of(surface, row)), "si")

    assert figure["layout"]["xaxis"]["range"][0] == "2025-05-06"


def test_a_chart_in_us_units_is_the_same_chart(figures):
    si, us = figures["si"], figures["us"]

    assert (si["layout"]["yaxis"]["title"]["text"], us["layout"]["yaxis"]["title"]["text"]) == (
        "Rate (mm/h)",
        "Rate (in/h)",
    )
    assert list(trace(us, "limit")["y"]) == pytest.approx([10.0, 10.0])
    assert [y * 25.4 for y in trace(us, "forecast")["y"]] == pytest.approx(list(trace(si, "forecast")["y"]))


def test_the_states_are_counted_worst_first_and_none_is_not_tested():
    counts = state_counts(["draining", None, "below_limit", "not_tested", None])

    assert [(key, count) for key, _, count in counts] == [
        ("below_limit", 1),
        ("clean_soon", 0),
        ("watch", 0),
        ("not_tested", 3),
        ("draining", 1),
    ]


def test_a_place_named_like_a_tag_shows_as_typed_by_every_method(db):
    surface = SurfaceFactory()
    round_ = RoundFactory(surface=surface)
    test = InfiltrationTestFactory(
        round=round_,
        spot='<a href="x">y</a>',
        method="frame",
        readings=field_readings({"length": 500.0, "width": 500.0, "volume": 5.0, "elapsed_s": 60.0}),
    )
    forecasts.refresh(surface.pk)
    row = Forecast.objects.get(surface=surface)

    decline = decline_figure(decline_record(surface, row, row.outlook, record_of(surface, row)), "si")
    spots = spots_figure(round_result(round_, "si").methods[0], surface.limit_mm_h, "si")

    labels = [trace(decline, "other method, as measured")["text"][0], spots["data"][0]["text"][0]]
    assert all(test.place not in label and "&lt;a href" in label for label in labels)
