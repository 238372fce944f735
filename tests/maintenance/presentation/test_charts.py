"""The decline chart: what it marks where the limit is reached."""

from datetime import date

import pytest

from maintenance.calc.decline import DeclineRecord, LimitReach
from maintenance.calc.forecast_payload import RateCurve
from maintenance.presentation.charts import decline_figure

DAYS = (date(2026, 6, 10), date(2028, 6, 10), date(2031, 6, 10))


def curve():
    falling = (900.0, 500.0, 200.0)
    return RateCurve(on=DAYS, median=falling, lo80=falling, hi80=falling, lo95=falling, hi95=falling)


def record(reach):
    return DeclineRecord(
        past=curve(), future=curve(), below=(0.0, 0.2, 0.7), tests=(), rounds=(), cleanings=(), limit_mm_h=254.0,
        reach=reach, today=DAYS[0],
    )  # fmt: skip


def the_bar(reach):
    """The bar on the limit, None where there is none."""
    drawn = decline_figure(record(reach), "si")["data"]
    return next((trace for trace in drawn if trace.get("name") == "reaches the limit"), None)


def test_the_day_of_a_chance_of_one_half_is_the_one_that_is_marked():
    bar = the_bar(LimitReach(date(2028, 1, 1), date(2030, 1, 1), date(2031, 1, 1)))

    sizes = dict(zip(bar["text"], bar["marker"]["size"], strict=True))
    assert sizes["50 % chance"] > 5 * sizes["10 % chance"]
    assert sizes["90 % chance"] == sizes["10 % chance"]
    assert list(bar["x"]) == [
        "2028-01-01", "2030-01-01", "2031-01-01",
    ]  # fmt: skip


def test_a_bar_that_leaves_the_picture_says_so():
    bar = the_bar(LimitReach(date(2028, 1, 1), date(2030, 1, 1), None))

    assert list(bar["text"])[-1] == "not yet 90 % by then"
    assert list(bar["x"])[-1] == DAYS[-1].isoformat()


def test_a_limit_that_is_not_reached_has_no_bar():
    assert the_bar(LimitReach(None, None, None)) is None


@pytest.mark.parametrize(("units", "expected"), [("si", 254.0), ("us", 10.0)])
def test_the_limit_stands_in_the_readers_units(units, expected):
    drawn = decline_figure(record(LimitReach(None, None, None)), units)["data"]

    (limit,) = [trace for trace in drawn if trace.get("name") == "limit"]
    assert list(limit["y"]) == pytest.approx([expected, expected])
