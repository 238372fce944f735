"""The spots of a round on a line of rates: where each stands, in which units, and what the table beside it says."""

from math import log10

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from qa.calc.rounds import Rate, below_limit, round_statistics
from qa.presentation.spot_chart import FARTHEST, spots_figure, spots_table
from qa.selectors.rounds import MethodResult, SpotResult

LIMIT_MM_H = 254.0
MM_H_AN_INCH = 25.4  # by definition of the inch


def spots_of(*rates):
    """A spot for each rate, which may come with its bound."""
    told = [rate if isinstance(rate, Rate) else Rate(rate, Bound.EXACT) for rate in rates]
    return [SpotResult(f"S{n}", (), rate, None, None) for n, rate in enumerate(told, start=1)]


def result_of(*rates):
    spots = spots_of(*rates)
    found = [spot.rate for spot in spots]
    against = below_limit(found, LIMIT_MM_H)
    return MethodResult(TestMethod.RING, spots, round_statistics(found), against, "picp")


def trace(figure, begins):
    """The trace whose name begins so; None where it is not drawn."""
    return next((each for each in figure["data"] if each["name"].startswith(begins)), None)


def drawn(*rates, units="si"):
    return spots_figure(result_of(*rates), LIMIT_MM_H, units)


@pytest.mark.parametrize(
    ("bound", "said", "symbol"),
    [
        (Bound.EXACT, "1200 mm/h", "circle"),
        (Bound.BELOW, "below 1200 mm/h", "triangle-left"),
        (Bound.ABOVE, "above 1200 mm/h", "triangle-right"),
        (Bound.UNCLEAR, "about 1200 mm/h", "circle"),
    ],
)
def test_a_rate_is_told_and_marked_by_what_is_known_of_it(bound, said, symbol):
    """A mean of a test that was too fast and one that was stopped has no side to point to, and is no reading either."""
    rate = Rate(1200.0, bound)

    marks = trace(drawn(rate), "spot")["marker"]["symbol"]

    assert spots_table(spots_of(rate), "si") == [["S1", said]]
    assert list(marks) == [symbol]


def test_every_spot_stands_at_its_rate_and_the_mean_among_them():
    figure = drawn(400.0, 600.0, 2000.0)

    assert trace(figure, "spot")["x"] == pytest.approx([400.0, 600.0, 2000.0])
    assert trace(figure, "arithmetic mean")["x"] == pytest.approx([1000.0])
    assert list(trace(figure, "spot")["text"]) == ["S1", "S2", "S3"]


def test_people_who_read_inches_see_all_of_it_in_inches():
    si, us = drawn(400.0, 600.0, 2000.0), drawn(400.0, 600.0, 2000.0, units="us")

    for name in ("spot", "arithmetic mean", "95 % range"):
        expected = [x / MM_H_AN_INCH for x in trace(si, name)["x"]]
        assert trace(us, name)["x"] == pytest.approx(expected)
    shift = [
        a - b for a, b in zip(si["layout"]["xaxis"]["range"], us["layout"]["xaxis"]["range"], strict=True)
    ]
    assert shift == pytest.approx([log10(MM_H_AN_INCH)] * 2)
    assert spots_table(spots_of(254.0), "us") == [["S1", "10 in/h"]]


def test_one_spot_alone_has_no_range_of_the_surface():
    assert trace(drawn(500.0), "95 % range") is None
    assert trace(drawn(500.0, 700.0, 600.0), "95 % range") is not None


def test_words_of_a_spot_are_text_and_no_markup():
    spots = [SpotResult("<b>gate</b> & tree", (), Rate(500.0, Bound.EXACT), None, None)]
    statistics = round_statistics([spot.rate for spot in spots])
    result = MethodResult(
        TestMethod.RING, spots, statistics, below_limit([spots[0].rate], LIMIT_MM_H), "picp"
    )

    text = trace(spots_figure(result, LIMIT_MM_H, "si"), "spot")["text"]

    assert list(text) == ["&lt;b&gt;gate&lt;/b&gt; &amp; tree"]


RATES = st.lists(st.floats(20.0, 50_000.0), min_size=1, max_size=9)


@hypothesis_settings(max_examples=30)
@given(RATES, st.sampled_from(["si", "us"]))
def test_spots_and_limit_are_always_in_view_and_are_not_shrunk_by_a_wide_range(rates, units):
    axis = spots_figure(result_of(*rates), LIMIT_MM_H, units)["layout"]["xaxis"]

    unit = MM_H_AN_INCH if units == "us" else 1.0
    low, high = (unit * 10**end for end in axis["range"])
    shown = [*rates, LIMIT_MM_H]
    assert low < min(shown)
    assert high > max(shown)
    assert low > min(shown) / FARTHEST / 1.5
    assert high < max(shown) * FARTHEST * 1.5


@hypothesis_settings(max_examples=30)
@given(RATES)
def test_ticks_reach_over_the_whole_view_in_steps_of_one_two_and_five(rates):
    axis = drawn(*rates)["layout"]["xaxis"]

    ticks = axis["tickvals"]
    assert ticks == sorted(set(ticks))
    assert log10(ticks[0]) <= axis["range"][0]
    assert log10(ticks[-1]) >= axis["range"][1]
    assert {round(tick / 10 ** int(log10(tick) // 1)) for tick in ticks} <= {1, 2, 5, 10}
    assert len(axis["ticktext"]) == len(ticks)
