"""How a build-up stands as a store of water, in four numbers."""

from django.utils.html import format_html

from core.calc.format import NOTHING, figure, percent
from core.calc.units import Quantity
from core.presentation.figures import Figure
from core.presentation.measures import measure, with_unit
from qa.models import Surface
from qa.selectors.water import Store


def store_figures(surface: Surface, store: Store, units: str) -> list[Figure]:
    """What it holds, how fast it drains, what the fall of the subgrade leaves, and what is kept for reuse."""
    return [
        _stored(surface, store, units),
        _drains(store, units),
        _left_by_fall(surface, store, units),
        _reuse(surface, store, units),
    ]


def _stored(surface: Surface, store: Store, units: str) -> Figure:
    where = "in the stone" if surface.overflow_invert_mm is None else "below the overflow"
    value = measure(store.below_mm, Quantity.SHORT_LENGTH, units)
    stone = measure(store.height_mm, Quantity.SHORT_LENGTH, units)
    return Figure(
        f"Stored {where}",
        value,
        format_html("of water over the surface, in {} of stone", stone),
        wet=True,
        term="storage",
    )


def _drains(store: Store, units: str) -> Figure:
    if store.drain_h is None:
        value = NOTHING
    else:
        value = "never" if store.never_drains else with_unit(figure(store.drain_h), "h")
    return Figure("Drains in", value, _drains_to(store, units), term="drain_time")


def _drains_to(store: Store, units: str) -> str:
    if store.lined:
        return "a liner keeps it from the soil"
    if store.soil_rate_mm_h is None:
        return "needs the design rate of the soil"
    return format_html("at {} into the soil", measure(store.soil_rate_mm_h, Quantity.RATE, units))


def _left_by_fall(surface: Surface, store: Store, units: str) -> Figure:
    value = "all" if store.slope_share == 1 else percent(store.slope_share)
    return Figure("Left by the fall of the subgrade", value, _fall(surface, units))


def _fall(surface: Surface, units: str) -> str:
    if surface.subgrade_slope_percent is None:
        return "taken as level"
    fall = f"{figure(surface.subgrade_slope_percent)} % fall"
    if not surface.subgrade_fall_length_m:
        return fall
    return format_html("{} over {}", fall, measure(surface.subgrade_fall_length_m, Quantity.LENGTH, units))


def _reuse(surface: Surface, store: Store, units: str) -> Figure:
    if not surface.reuse_store_m3:
        return Figure("Reuse store", "none", "no water is kept for irrigation")
    kept = measure(surface.reuse_store_m3, Quantity.VOLUME, units)
    value = measure(store.reuse_mm, Quantity.SHORT_LENGTH, units)
    filled = "filled by the overflow or drain" if store.has_pipe else "gets nothing without a pipe"
    return Figure("Reuse store", value, format_html("{} for irrigation, {}", kept, filled))
