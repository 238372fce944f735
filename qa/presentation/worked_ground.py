"""Water, soil and stone of a build-up worked through with their own numbers."""

from collections.abc import Iterable
from math import inf

from core.calc.format import figure, fixed
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display
from qa.calc.citing import named
from qa.calc.gradation import FilterCheck, Sizes
from qa.calc.soil import SAFETY_SOURCE
from qa.presentation.worked import Worked
from qa.selectors.gradation import Neighbours
from qa.selectors.water import SoilTested, Store

FILTER_SOURCE = gettext_noop("filter criteria for open-graded layers, common practice")
BALANCE = gettext_noop("mass balance")


def worked_soil(tested: SoilTested | None, units: str) -> Worked | None:
    """How the rate that the soil carries was worked out; None without a soil test."""
    if tested is None:
        return None
    slowest, carries = (_rate(rate, units) for rate in (tested.slowest_mm_h, tested.carries_mm_h))
    return Worked(
        _("f = slowest rate / F"),
        f"f = {slowest[0]} / {figure(tested.factor)} = {carries[0]} {carries[1]}",
        _("F the safety factor, since soil clogs and varies. Of several places the slowest counts."),
        named(SAFETY_SOURCE),
        _("the design rate"),
    )


def worked_storage(store: Store | None, units: str) -> Worked | None:
    """How the water that is stored was worked out; None where the record does not say what stores."""
    if store is None or not store.height_mm:
        return None
    height, holds, level = (_depth(one, units) for one in (store.height_mm, store.below_mm, store.level_mm))
    return Worked(
        "S = d · n · s",
        f"S = {height[0]} · {fixed(store.porosity, 3)} · {fixed(store.slope_share, 3)} = {holds[0]} {holds[1]}",
        _(
            "d the depth of stone that stores, up to the overflow, n its porosity, the mean of its layers by their "
            "depth, s what the fall of the subgrade leaves of it. On a level subgrade it would be {depth}, which soaks "
            "away in t = S / f, f the design rate of the soil."
        ).format(depth=f"{level[0]} {level[1]}"),
        _(BALANCE),
        _("the storage"),
        _drain_lines(store, units),
    )


def _drain_lines(store: Store, units: str) -> tuple[str, ...]:
    """How the drain time follows; nothing while the rate of the soil is not known, or it takes no water."""
    hours, soil = store.drain_h, store.soil_rate_mm_h
    if hours is None or soil is None or hours in (0.0, inf):
        return ()
    deep, rate = _depth(store.level_mm, units), _rate(soil, units)
    drains = _("drains in t = {depth} / {rate} = {hours} h")
    return (drains.format(depth=deep[0], rate=rate[0], hours=figure(hours)),)


def worked_filters(neighbours: Iterable[Neighbours]) -> list[Worked]:
    """How layers of stone were held against each other, each pair by its names; those that cannot be told left out."""
    return [_worked_filter(pair, *pair.sizes, pair.check) for pair in neighbours if pair.sizes and pair.check]


def _worked_filter(pair: Neighbours, upper: Sizes, lower: Sizes, check: FilterCheck) -> Worked:
    over, under = (layer.get_kind_display().lower() for layer in (pair.upper, pair.lower))
    first = f"{figure(lower.d15_mm)} / {figure(upper.d85_mm)} = {figure(check.d15_to_d85)}"
    second = f"{figure(lower.d50_mm)} / {figure(upper.d50_mm)} = {figure(check.d50_to_d50)}"
    return Worked(
        _("D15 below / d85 above < 5, and D50 below / d50 above < 25"),
        f"D15 / d85 = {first}",
        _(
            "Sizes in mm, read off the two latest sieve analyses: large letters of the lower layer, small ones of the "
            "upper."
        ),
        _(FILTER_SOURCE),
        _("the filter check of {upper} over {lower}").format(upper=over, lower=under),
        (f"D50 / d50 = {second}", _("holds") if check.holds else _("does not hold")),
    )


def _rate(rate_mm_h: float, units: str) -> tuple[str, str]:
    shown = to_display(rate_mm_h, Quantity.RATE, UnitSystem(units))
    return rounded_for_reading(shown.value), shown.unit


def _depth(depth_mm: float, units: str) -> tuple[str, str]:
    shown = to_display(depth_mm, Quantity.SHORT_LENGTH, UnitSystem(units))
    return rounded_for_reading(shown.value), shown.unit
