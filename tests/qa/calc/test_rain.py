"""What a rain does, held against a balance taken in small steps of time; and the rules beside it."""

from dataclasses import dataclass
from itertools import pairwise
from math import inf

import pytest

from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from qa.calc.rain import (
    Rain,
    Reservoir,
    Rule,
    blocks_of,
    build_up_warnings,
    drain_time_warnings,
    rain_fate,
    rule_warnings,
    run_on_warnings,
    setback_warnings,
)
from qa.calc.sources import Source, SourceStatus

STEPS = 10_000


@dataclass
class Stepped:
    """The same rain, stepped through."""

    ran_off: float = 0.0
    kept: float = 0.0
    soaked: float = 0.0
    overflowed: float = 0.0
    stored: float = 0.0
    highest: float = 0.0
    drain_h: float = 0.0
    at_the_end: float = 0.0


def intensity(rain, at_h):
    """A power of the distance from the nearer end, scaled so that the peak is the factor times the mean."""
    nearer = 1 - abs(2 * at_h / rain.duration_h - 1)
    return rain.peak_factor * nearer ** (rain.peak_factor - 1) * rain.depth_mm / rain.duration_h


def stepped(rain, ratio, store, until_share=1.0):
    """What the surface cannot take runs off; the soil takes its rate; what rises over the pipe fills the reuse store.

    Small steps in time, written from the words alone.
    """
    told, dt = Stepped(), rain.duration_h / STEPS
    most = inf if store.surface_rate_mm_h is None else store.surface_rate_mm_h * dt
    for step in range(round(STEPS * until_share)):
        coming = intensity(rain, (step + 0.5) * dt) * dt * (1 + ratio)
        taken = min(coming, most)
        told.ran_off += coming - taken
        told.stored += taken
        soaked = min(told.stored, store.soil_rate_mm_h * dt)
        told.soaked += soaked
        told.stored -= soaked
        over = max(0.0, told.stored - store.below_overflow_mm)
        told.stored -= over
        if not store.has_pipe:
            told.ran_off += over
        else:
            kept = min(over, store.reuse_mm - told.kept)
            told.kept += kept
            told.overflowed += over - kept
        told.highest = max(told.highest, told.stored)
    told.at_the_end = told.stored
    while store.soil_rate_mm_h and told.stored > 0:
        soaked = min(told.stored, store.soil_rate_mm_h * dt)
        told.soaked += soaked
        told.stored -= soaked
        told.drain_h += soaked / store.soil_rate_mm_h
    return told


RAINS = [
    (Rain(60, 3), 1, Reservoir(50, 10, reuse_mm=20)),
    (Rain(60, 3, 2), 1, Reservoir(50, 10, reuse_mm=200)),  # the reuse store takes all that the pipe carries
    (Rain(60, 3), 1, Reservoir(500, 10, reuse_mm=20)),  # nothing rises to the pipe
    (Rain(50, 1), 0, Reservoir(200, 5, surface_rate_mm_h=20)),
    (Rain(50, 1, 5), 0, Reservoir(200, 5, surface_rate_mm_h=60)),  # the burst runs off, the mean would not
    (Rain(80, 2, 2), 2, Reservoir(40, 8, surface_rate_mm_h=60)),
    (Rain(80, 2), 2, Reservoir(40, 8, reuse_mm=30, surface_rate_mm_h=60)),
    (Rain(80, 2), 2, Reservoir(40, 8, reuse_mm=30, has_pipe=False)),  # without a pipe it ponds and runs off
    (Rain(10, 4), 0.5, Reservoir(100, 20)),  # the soil takes all of it
    (Rain(10, 4, 8), 0.5, Reservoir(100, 5)),  # the store rises and falls within the rain
    (Rain(40, 2, 3), 0, Reservoir(0, 6)),  # nothing is stored
    (Rain(40, 2, 2), 0, Reservoir(25, 0)),  # a liner
    (Rain(40, 2, 2), 0, Reservoir(0, 0, reuse_mm=15)),  # a lined base whose drain fills the reuse store
    (Rain(0, 2, 2), 1, Reservoir(25, 5)),
    (Rain(40, 2), 1, Reservoir(25, 5, surface_rate_mm_h=0)),  # sealed
]


@pytest.mark.parametrize(("rain", "ratio", "store"), RAINS)
def test_the_water_goes_where_small_steps_in_time_say(rain, ratio, store):
    told = stepped(rain, ratio, store)

    fate = rain_fate(rain, ratio, store)

    near = {"rel": 2e-3, "abs": 5e-3}
    assert fate.inflow_mm == pytest.approx(rain.depth_mm * (1 + ratio))
    assert fate.ran_off_mm == pytest.approx(told.ran_off, **near)
    assert fate.kept_for_reuse_mm == pytest.approx(told.kept, **near)
    assert fate.soaked_mm == pytest.approx(told.soaked, **near)
    assert fate.overflowed_mm == pytest.approx(told.overflowed, **near)
    assert fate.held_mm == pytest.approx(told.stored, **near)
    assert fate.highest_store_mm == pytest.approx(told.highest, **near)
    if store.soil_rate_mm_h:
        assert fate.drain_h == pytest.approx(told.drain_h, **near)
    else:
        assert fate.drain_h == (inf if told.stored else 0)


def at(course, hour):
    """The store at an hour, between the corners of the course."""
    for one, other in pairwise(course):
        if one.at_h <= hour <= other.at_h and other.at_h > one.at_h:
            share = (hour - one.at_h) / (other.at_h - one.at_h)
            return one.store_mm + share * (other.store_mm - one.store_mm)
    return course[-1].store_mm


@pytest.mark.parametrize(("rain", "ratio", "store"), RAINS)
@pytest.mark.parametrize("share", [0.25, 0.5, 0.9, 1.0])
def test_the_course_of_the_store_is_where_the_steps_are_at_that_hour(rain, ratio, store, share):
    so_far = stepped(rain, ratio, store, share)

    course = rain_fate(rain, ratio, store).course

    assert at(course, rain.duration_h * share) == pytest.approx(so_far.at_the_end, rel=4e-3, abs=2e-2)


def test_the_blocks_of_a_rain_hold_all_of_it_and_peak_in_the_middle():
    blocks = blocks_of(Rain(50, 3, 2))

    assert sum(hours * rate for hours, rate in blocks) == pytest.approx(50, rel=1e-12)
    assert sum(hours for hours, _ in blocks) == pytest.approx(3, rel=1e-12)
    rates = [rate for _, rate in blocks]
    assert rates == pytest.approx(rates[::-1])
    assert max(rates) == pytest.approx(rates[len(rates) // 2]) == pytest.approx(2 * 50 / 3, rel=0.02)


@pytest.mark.parametrize("peak_factor", [0.99, -1, float("nan")])
def test_a_peak_below_the_mean_is_refused_with_its_value(peak_factor):
    with pytest.raises(ImpossibleRecordError, match=f"at least its mean, got {peak_factor:g} times"):
        rain_fate(Rain(10, 1, peak_factor), 0, Reservoir(25, 5))


def test_a_store_that_never_drains_is_shown_for_another_day():
    course = rain_fate(Rain(20, 2), 0, Reservoir(100, 0)).course

    assert (course[-1].at_h, course[-1].store_mm) == (26, 20)


RULE = (
    Rule("Here", 3.0, None, Source("Code A", SourceStatus.LOOKED_UP)),
    Rule("There", None, 2.0, Source("Code B", SourceStatus.FROM_MEMORY)),
)


@pytest.mark.parametrize(
    ("value", "places"), [(2.0, []), (3.0, []), (2.5, []), (3.01, ["Here"]), (1.99, ["There"])]
)
def test_a_bound_itself_is_kept_and_a_step_beyond_is_told(value, places):
    found = rule_warnings("It is so", value, " h", RULE)

    assert [place for place in ("Here", "There") if any(place in said for said in found)] == places


def test_a_rule_is_told_with_its_bound_its_place_and_its_source():
    (most,) = rule_warnings("It takes 4 h", 4.0, " h", RULE)
    (least,) = rule_warnings("It takes 1 h", 1.0, " h", RULE)

    assert most == "It takes 4 h; at most 3 h (Here: Code A). Check the rule that holds locally."
    assert least.startswith("It takes 1 h; at least 2 h (There: Code B)")


def test_a_drain_time_and_a_ratio_are_told_to_three_digits():
    assert drain_time_warnings(100.456)[0].startswith("The stone drains in 100 h; at most 72 h")
    assert run_on_warnings(3.4567)[0].startswith("The run-on ratio is 3.46; at most 1 (North Carolina")


@pytest.mark.parametrize(("distance_m", "count"), [(3.0, 3), (3.048, 2), (4.0, 1), (5.0, 0)])
def test_a_foundation_at_the_setback_itself_is_far_enough(distance_m, count):
    """ICPI 3 m, Minnesota 10 ft = 3.048 m, Ontario 4 m, United Kingdom 5 m."""
    assert len(setback_warnings("foundation", distance_m)) == count


def test_some_setbacks_hold_only_where_water_runs_on():
    places = {
        said.split("; ")[1].split(" asks")[0]
        for said in setback_warnings("foundation", 3.5, has_run_on=False)
    }

    assert places == {"United Kingdom"}
    assert len(setback_warnings("foundation", 3.5)) == 2


@pytest.mark.parametrize(("soil_mm_h", "count"), [(15.0, 0), (14.99, 1), (7.62, 1), (7.61, 2), (0.0, 2)])
def test_slow_soil_without_an_overflow_asks_for_one(soil_mm_h, count):
    found = build_up_warnings(soil_mm_h, 300, has_overflow=False, soil_drains_on=False)

    assert len(found) == count
    assert build_up_warnings(soil_mm_h, 300, has_overflow=True, soil_drains_on=False) == ()


@pytest.mark.parametrize(
    ("soil_mm_h", "depth_mm", "told"),
    [(45.0, 2000, False), (45.0, 2001, True), (44.9, 2001, False), (100.0, 5000, True)],
)
def test_deep_stone_on_fast_soil_is_told(soil_mm_h, depth_mm, told):
    found = build_up_warnings(soil_mm_h, depth_mm, has_overflow=True, soil_drains_on=False)

    assert bool(found) == told


def test_soil_that_drains_on_and_everything_else_is_told_in_the_readers_units():
    drain, deep, soil = (
        *build_up_warnings(10, 300, has_overflow=False, soil_drains_on=False, system=UnitSystem.US),
        *build_up_warnings(50, 2540, has_overflow=True, soil_drains_on=True, system=UnitSystem.US),
    )

    assert drain.startswith(
        "The soil takes 0.394 in/h and no overflow or underdrain is recorded; one is asked for"
    )
    assert "below 0.6 in/h (Ontario guide" in drain
    assert deep.startswith("The stone is 100 in deep; at most 78 in is asked on soil this fast")
    assert soil.startswith("Bare soil or planting drains onto the surface")
