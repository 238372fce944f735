"""A surface's forecast worked through: the steps that are shown hold the figures that are shown."""

import re
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from clogging.forecast import first_reach
from core.calc.format import day, figure
from maintenance.calc.actions import DAYS_A_YEAR, LIKELY_SHARE
from maintenance.calc.vocabulary import RecordKind
from reporting.calc.handbook_example import SWEPT_YR, day_of, example
from reporting.calc.parts import DeclinePart, ForecastPart
from reporting.calc.values import UnitText
from reporting.presentation.worked import worked_forecast, worked_gain
from tests.sums import sides, value_of

UNITS = ["si", "us"]


def forecast(**changes):
    """The forecast of the handbook's surface, by the model."""
    seen, record = example().seen, replace(example().record, **changes)
    now, reach = seen.rate_now_mm_h, record.reach
    return ForecastPart(
        rate_now_mm_h=now.median,
        rate_low_mm_h=now.lo80,
        rate_high_mm_h=now.hi80,
        share_below_now=seen.p_below_now,
        below_10_on=reach.below_10_on,
        below_50_on=reach.below_50_on,
        below_90_on=reach.below_90_on,
        decline=DeclinePart("", UnitText("", ""), "", record),
    )


@pytest.mark.parametrize("units", UNITS)
def test_the_chance_is_told_by_rate_decline_and_limit(units):
    chance, _ = worked_forecast(forecast(), units)

    x, rest = chance.with_numbers.split(" (", 1)
    b, loss = chance.then[0].split("; ")
    for line in (x, b.split(" (")[0], loss.split(" until")[0]):
        step, shown = sides(line)
        assert step == pytest.approx(shown, abs=0.006)
    low, high = (value_of(part) for part in re.match(r"(ln [\d.]+) to (ln [\d.]+)\)", rest).groups())
    assert low < value_of(x.split(" = ")[1]) < high
    share = example().seen.p_below_now
    assert chance.then[1].endswith(f"P = {100 * share:.1f} %")


@pytest.mark.parametrize("limit_mm_h", [40.0, 330.0, 450.0, 700.0, 1000.0, 4000.0])
def test_the_limit_lies_where_the_range_of_today_says(limit_mm_h):
    """The points of the range between which it lies hold the chance that the model itself gives for that limit."""
    curve = example().record.future
    levels = (0.0, 0.025, 0.10, 0.50, 0.90, 0.975, 1.0)
    rates = (
        0.0,
        *(getattr(curve, name)[0] for name in ("lo95", "lo80", "median", "hi80", "hi95")),
        float("inf"),
    )
    at = next(i for i, rate in enumerate(rates) if limit_mm_h < rate)

    chance, _ = worked_forecast(forecast(limit_mm_h=limit_mm_h), "si")

    said = [float(one) / 100 for one in re.findall(r"([\d.]+) %", chance.then[1])][:-1]
    assert said == pytest.approx([level for level in levels[at - 1 : at + 1] if 0.0 < level < 1.0])


@pytest.mark.parametrize("units", UNITS)
def test_the_day_lies_between_two_days_of_the_forecast(units):
    part = forecast()
    record = part.decline.record

    _, reached = worked_forecast(part, units)

    (low, high), shown = re.findall(r"([\d.]+) %", reached.with_numbers), reached.then[0]
    before, after = (_day(text) for text in re.findall(r"on (\d+\s\w+\s\d{4})", reached.with_numbers))
    assert float(low) < 100 * LIKELY_SHARE <= float(high)
    assert before <= part.below_50_on <= after
    assert shown.endswith(day(part.below_50_on))
    years = [(on - record.future.on[0]).days / DAYS_A_YEAR for on in record.future.on]
    again = first_reach(_array(years), _array(record.below), LIKELY_SHARE)
    assert abs((part.below_50_on - record.future.on[0]).days - again * DAYS_A_YEAR) <= 2


def _day(text):
    return next(on for on in example().record.future.on if day(on) == text)


def _array(values):
    return np.asarray(values, dtype=float)


@pytest.mark.parametrize(
    ("below", "said"), [(0.9, "50 % or more already"), (0.1, "below 50 % to the end of the forecast")]
)
def test_a_day_that_is_past_or_beyond_the_forecast_is_said_to_be(below, said):
    part = forecast(below=(below,) * len(example().record.below))

    assert worked_forecast(part, "si")[1].then == (said,)


def test_without_a_forecast_there_is_nothing_to_work_through():
    assert worked_forecast(None, "si") == ()
    assert worked_forecast(replace(forecast(), decline=None), "si") == ()


def cleaned(on, measured, kind=RecordKind.CLEANING, **changes):
    gain = SimpleNamespace(measured_factor=measured)
    return SimpleNamespace(**{"kind": kind, "is_active": True, "on": on, "gain": gain} | changes)


@pytest.mark.parametrize("units", UNITS)
def test_a_gain_is_read_from_the_rounds_on_both_sides(units):
    (gain,) = example().seen.gains
    line = cleaned(day_of(SWEPT_YR), gain.measured_factor)

    worked = worked_gain([line], forecast(), units)

    step, shown = sides(worked.with_numbers.removesuffix(" times"))
    assert step == pytest.approx(shown, rel=0.01)
    assert worked.with_numbers.endswith(f"= {figure(gain.measured_factor)} times")


@pytest.mark.parametrize(
    "line",
    [
        cleaned(date(2024, 4, 6), None),
        cleaned(date(2024, 4, 6), 9.0),
        cleaned(date(2019, 4, 6), 1.3),
        cleaned(date(2024, 4, 6), 1.3, is_active=False),
        cleaned(date(2024, 4, 6), 1.3, kind=RecordKind.ROUND),
    ],
)
def test_a_gain_that_no_two_rounds_give_is_not_worked_through(line):
    assert worked_gain([line], forecast(), "si") is None


def test_without_curves_no_gain_is_worked_through():
    assert worked_gain([cleaned(date(2024, 4, 6), 1.3)], None, "si") is None
