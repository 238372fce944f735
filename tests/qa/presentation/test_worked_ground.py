"""Water, soil and stone worked through: the steps that are shown give the figures that are shown."""

from math import inf

import pytest

from core.calc.format import figure
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display
from qa.calc.buildups import LayerKind
from qa.calc.gradation import Sizes, filter_check
from qa.calc.sources import SourceStatus
from qa.models import Layer
from qa.presentation.worked_ground import worked_filters, worked_soil, worked_storage
from qa.selectors.gradation import Neighbours
from qa.selectors.water import SoilTested, Store
from tests.sums import sides

UNITS = ["si", "us"]


def store(**changes):
    values = {
        "layers": (),
        "full_mm": 160.0,
        "height_mm": 300.0,
        "level_mm": 117.0,
        "below_mm": 117.0 * 0.75,
        "porosity": 0.39,
        "slope_share": 0.75,
        "reuse_mm": 0.0,
        "has_pipe": True,
        "lined": False,
        "soil_rate_mm_h": 6.5,
    }
    return Store(**values | changes)


@pytest.mark.parametrize("units", UNITS)
def test_the_design_rate_of_the_soil_follows_from_the_slowest_place(units):
    tested = SoilTested((), 42.0, 2.5, factor_recorded=True)

    worked = worked_soil(tested, units)

    step, shown = sides(worked.with_numbers)
    carries = to_display(tested.carries_mm_h, Quantity.RATE, UnitSystem(units))
    assert step == pytest.approx(shown, rel=0.01)
    assert worked.with_numbers.endswith(f"= {carries}")
    assert SourceStatus.FROM_MEMORY.label not in worked.source
    assert worked_soil(None, units) is None


@pytest.mark.parametrize("units", UNITS)
def test_storage_and_drain_time_follow_from_the_layers(units):
    found = store()

    worked = worked_storage(found, units)

    step, shown = sides(worked.with_numbers)
    assert step == pytest.approx(shown, rel=0.01)
    assert worked.with_numbers.endswith(
        str(to_display(found.below_mm, Quantity.SHORT_LENGTH, UnitSystem(units)))
    )
    (drains,) = worked.then
    step, shown = sides(drains)
    assert step == pytest.approx(shown, rel=0.01)
    assert drains.endswith(f"= {figure(found.drain_h)} h")


@pytest.mark.parametrize("soil", [None, 0.0])
def test_what_never_drains_has_no_drain_time(soil):
    assert worked_storage(store(soil_rate_mm_h=soil), "si").then == ()
    assert store(soil_rate_mm_h=0.0).drain_h == inf


def test_without_stone_there_is_nothing_to_work_through():
    assert worked_storage(None, "si") is None
    assert worked_storage(store(height_mm=0.0), "si") is None


@pytest.mark.parametrize("coarse", [1.0, 6.0])
def test_layers_of_stone_are_held_against_each_other(coarse):
    upper = Sizes(2.1, 2.5, 4.2, 4.9, 8.1)
    lower = Sizes(5.2 * coarse, 6.4 * coarse, 12.8 * coarse, 14.0 * coarse, 22.0 * coarse)
    check = filter_check(upper, lower)

    base, bedding = Layer(kind=LayerKind.BASE.value), Layer(kind=LayerKind.BEDDING.value)

    untold = Neighbours(base, bedding, None, "Needs a sieve analysis.")
    (worked,) = worked_filters([Neighbours(bedding, base, check, sizes=(upper, lower)), untold])

    assert worked.of == "the filter check of bedding over base"

    for line, ratio in ((worked.with_numbers, check.d15_to_d85), (worked.then[0], check.d50_to_d50)):
        step, shown = sides(line)
        assert step == pytest.approx(shown, rel=0.01)
        assert line.endswith(f"= {rounded_for_reading(ratio)}")
    assert worked.then[1] == ("holds" if check.holds else "does not hold")
