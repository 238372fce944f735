"""What is kept of forecasts, fits and advice: read as it was written, for any values."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import Option
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.backtest_payload import BacktestScores, ForecasterScores
from maintenance.calc.forecast_payload import (
    ForecastOutlook,
    GainOfCleaning,
    Range,
    RateCurve,
    RoundAgainstForecast,
)

NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
SHARES = st.floats(0.0, 1.0)
DAYS = st.dates()
MONEY = st.decimals(0, 10**9, places=2)
METHODS = st.sampled_from(CleaningMethod)
RANGES = st.builds(Range, *[NUMBERS] * 5)
OPTIONS = st.builds(Option, METHODS, NUMBERS, st.none() | NUMBERS, SHARES, MONEY, st.none() | MONEY)
GAINS = st.builds(GainOfCleaning, DAYS, METHODS, st.none() | NUMBERS, RANGES)
ROUNDS = st.builds(RoundAgainstForecast, DAYS, st.integers(1, 99), NUMBERS, RANGES, SHARES, SHARES)


def many(one):
    return st.lists(one, max_size=3).map(tuple)


CURVES = st.builds(RateCurve, many(DAYS), *[many(NUMBERS)] * 5)
OUTLOOKS = st.builds(
    ForecastOutlook, RANGES, RANGES, SHARES, CURVES, CURVES, many(SHARES), many(ROUNDS), many(GAINS),
    many(OPTIONS), DAYS,
)  # fmt: skip
BACKTESTS = st.builds(
    BacktestScores,
    st.integers(5, 400),
    many(st.builds(ForecasterScores, st.text(), NUMBERS, NUMBERS, NUMBERS, SHARES)),
)
GROUNDS = st.builds(Grounds, st.integers(1, 10**6), many(st.text()), st.none() | OPTIONS)


@pytest.mark.parametrize("payloads", [OUTLOOKS, BACKTESTS, GROUNDS], ids=["outlook", "backtest", "grounds"])
@given(data=st.data())
def test_what_is_kept_is_read_as_it_was_written(payloads, data):
    payload = data.draw(payloads)

    assert type(payload).from_json(json.loads(json.dumps(payload.to_json()))) == payload


@given(option=OPTIONS)
def test_money_keeps_its_cents(option):
    stored = Grounds(1, ("Because.",), option).to_json()

    assert str(Grounds.from_json(stored).expected.cost) == str(option.cost)
