"""The four numbers of a build-up as a store, in words for every case."""

from math import inf

import pytest

from qa.presentation.water_figures import store_figures
from qa.selectors.water import Store
from tests.factories import SurfaceFactory
from tests.pages import as_shown

PLAIN = {
    "layers": (),
    "full_mm": 136.0,
    "height_mm": 340.0,
    "level_mm": 136.0,
    "below_mm": 120.0,
    "porosity": 0.4,
    "slope_share": 1.0,
    "reuse_mm": 0.0,
    "has_pipe": True,
    "lined": False,
    "soil_rate_mm_h": 10.0,
}


def figures(store=None, units="si", **fields):
    """Label, value and what stands below it, without markup."""
    surface = SurfaceFactory.build(site=None, **fields)
    found = store_figures(surface, Store(**PLAIN | (store or {})), units)
    return [tuple(plain(part) for part in (one.label, one.value, one.range)) for one in found]


def plain(markup):
    text = str(markup)
    while "<" in text:
        start, _, rest = text.partition("<")
        text = start + rest.partition(">")[2]
    return as_shown(text).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("invert", "label"), [(None, "Stored in the stone"), (150.0, "Stored below the overflow")]
)
def test_what_is_stored_is_told_with_where(invert, label):
    stored = figures(overflow_invert_mm=invert)[0]

    assert stored == (label, "120 mm", "of water over the surface, in 340 mm of stone")


@pytest.mark.parametrize(
    ("store", "value", "below"),
    [
        ({}, "13.6 h", "at 10 mm/h into the soil"),
        ({"soil_rate_mm_h": None}, "–", "needs the design rate of the soil"),
        ({"soil_rate_mm_h": 0.0}, "never", "at 0 mm/h into the soil"),
        ({"soil_rate_mm_h": 0.0, "lined": True}, "never", "a liner keeps it from the soil"),
        ({"level_mm": 0.0}, "0 h", "at 10 mm/h into the soil"),
    ],
    ids=["soil", "unknown soil", "tight soil", "liner", "nothing stored"],
)
def test_how_fast_it_drains_is_never_a_number_where_there_is_none(store, value, below):
    assert figures(store)[1] == ("Drains in", value, below)


@pytest.mark.parametrize(
    ("share", "fields", "value", "below"),
    [
        (1.0, {}, "all", "taken as level"),
        (1.0, {"subgrade_slope_percent": 0.0}, "all", "0 % fall"),
        (0.5, {"subgrade_slope_percent": 1.0, "subgrade_fall_length_m": 30.0}, "50 %", "1 % fall over 30 m"),
        (0.9, {"subgrade_slope_percent": 1.5}, "90 %", "1.5 % fall"),
    ],
)
def test_what_the_fall_leaves_is_told_with_the_fall(share, fields, value, below):
    left = figures({"slope_share": share}, **fields)[2]

    assert left == ("Left by the fall of the subgrade", value, below)


@pytest.mark.parametrize(
    ("store", "fields", "value", "below"),
    [
        ({}, {}, "none", "no water is kept for irrigation"),
        ({}, {"reuse_store_m3": 0.0}, "none", "no water is kept for irrigation"),
        (
            {"reuse_mm": 10.0},
            {"reuse_store_m3": 10.0},
            "10 mm",
            "10 m³ for irrigation, filled by the overflow or drain",
        ),
        (
            {"reuse_mm": 10.0, "has_pipe": False},
            {"reuse_store_m3": 10.0},
            "10 mm",
            "10 m³ for irrigation, gets nothing without a pipe",
        ),
    ],
)
def test_water_kept_for_reuse_says_where_it_comes_from(store, fields, value, below):
    assert figures(store, **fields)[3] == ("Reuse store", value, below)


def test_numbers_stand_in_the_readers_units():
    stored, drains, _, _ = figures(units="us")

    assert stored[1].endswith(" in")
    assert drains[2] == "at 0.394 in/h into the soil"


def test_a_store_that_never_drains_has_no_end():
    assert Store(**PLAIN | {"soil_rate_mm_h": 0.0}).drain_h == inf
    assert not Store(**PLAIN).never_drains
