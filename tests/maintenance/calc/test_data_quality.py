"""Records that contradict themselves or say little: no page breaks, and the page says what is odd."""

from datetime import date, timedelta

import pytest
from django.utils.timezone import localdate

from maintenance.calc.data_quality import data_quality_notes
from maintenance.calc.text import speak
from maintenance.models import Forecast
from maintenance.services.forecasts import refresh
from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory, round_against_forecast
from tests.pages import as_shown


def page_of(client, firm):
    client.force_login(firm.technician)
    refresh(firm.surface.pk)
    return as_shown(client.get(firm.surface.get_absolute_url()).content.decode())


def add_round(surface, on, *elapsed_s, **readings):
    round_ = RoundFactory(surface=surface, tested_on=on)
    for at, seconds in enumerate(elapsed_s):
        InfiltrationTestFactory(round=round_, spot=f"s{at}", elapsed_s=seconds, **readings)


def test_thirty_cleanings_and_no_test(client, firm):
    for month in range(30):
        CleaningFactory(surface=firm.surface, cleaned_on=date(2021, 1, 5) + timedelta(days=30 * month))

    page = page_of(client, firm)

    assert "30 cleanings are recorded and no test" in page
    assert Forecast.objects.get(surface=firm.surface).surface_state == "not_tested"


def test_only_bounds(client, firm):
    add_round(firm.surface, date(2024, 6, 1), 1886.0, 1886.0, ended="still_ponded")

    page = page_of(client, firm)

    assert "Every test is only a bound" in page
    forecast = Forecast.objects.get(surface=firm.surface)
    assert forecast.error == ""
    assert forecast.rate_now_mm_h < 97.2 * 3


def rate_now(firm):
    refresh(firm.surface.pk)
    return Forecast.objects.get(surface=firm.surface).rate_now_mm_h


def test_an_absurd_rate_is_named_and_leaves_the_forecast(client, firm):
    add_round(firm.surface, date(2022, 6, 1), 150.0, 160.0, 140.0)
    before = rate_now(firm)

    add_round(firm.surface, date(2024, 6, 1), 0.1, 0.1)
    page = page_of(client, firm)

    assert "faster than open gravel drains" in page
    assert "no test counts; 2 tests left out" in page
    assert rate_now(firm) == before  # until it is corrected it teaches nothing


def test_an_acceptance_test_before_opening_counts_as_the_day_of_opening(client, firm):
    add_round(firm.surface, firm.surface.opened_on - timedelta(days=9), 20.0, 25.0, 30.0)

    page_of(client, firm)

    forecast = Forecast.objects.get(surface=firm.surface)
    assert forecast.error == ""
    assert forecast.outlook.rounds[0].on == firm.surface.opened_on


def test_tests_and_cleanings_of_one_day_are_taken_in_the_order_of_their_purpose(client, firm):
    day = localdate() - timedelta(days=40)
    after = RoundFactory(surface=firm.surface, tested_on=day, purpose="after_cleaning")
    before = RoundFactory(surface=firm.surface, tested_on=day, purpose="before_cleaning")
    for spot in ("a", "b", "c"):
        InfiltrationTestFactory(round=after, spot=spot, elapsed_s=60.0)
        InfiltrationTestFactory(round=before, spot=spot, elapsed_s=600.0)
    CleaningFactory(surface=firm.surface, cleaned_on=day, method="joint_refill")

    page_of(client, firm)

    gain = Forecast.objects.get(surface=firm.surface).outlook.gains[0]
    assert gain.measured_factor == pytest.approx(10.0, rel=1e-6)


def test_an_ordinary_record_is_not_called_odd(client, firm):
    add_round(firm.surface, date(2023, 6, 1), 150.0, 210.0, 120.0)

    assert "Something in this record is odd" not in page_of(client, firm)


def test_a_bound_that_agrees_with_the_forecast_is_no_surprise():
    seen = round_against_forecast(97.2, 50.0, 0.0, 0.9)

    assert data_quality_notes([seen], tests=3, bounded_tests=1, cleanings=0, fastest_mm_h=900.0) == []


def test_a_round_far_below_its_forecast_is_told_as_a_share():
    seen = round_against_forecast(10.0, 1000.0, 0.0001, 0.0001)

    [sentence] = data_quality_notes([seen], tests=3, bounded_tests=0, cleanings=0, fastest_mm_h=900.0)

    assert "showed only 1 % of the rate" in speak(sentence, "si")


def test_what_is_odd_is_said_in_the_readers_units(client, firm):
    firm.technician.units = "us"
    firm.technician.save(update_fields=["units"])
    add_round(firm.surface, date(2024, 6, 1), 0.1, 0.1)

    page = page_of(client, firm)

    assert "in/h, faster than open gravel drains" in page
