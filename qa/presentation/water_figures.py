"""How a build-up stands as a store of water, in four numbers."""

from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

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
    whole = surface.overflow_invert_mm is None
    value = measure(store.below_mm, Quantity.SHORT_LENGTH, units)
    stone = measure(store.height_mm, Quantity.SHORT_LENGTH, units)
    return Figure(
        _("Stored in the stone") if whole else _("Stored below the overflow"),
        value,
        format_html(_("of water over the surface, in {stone} of stone"), stone=stone),
        wet=True,
        term="storage",
    )


def _drains(store: Store, units: str) -> Figure:
    if store.drain_h is None:
        value = NOTHING
    else:
        value = _("never") if store.never_drains else with_unit(figure(store.drain_h), "h")
    return Figure(_("Drains in"), value, _drains_to(store, units), term="drain_time")


def _drains_to(store: Store, units: str) -> str:
    if store.lined:
        return _("a liner keeps it from the soil")
    if store.soil_rate_mm_h is None:
        return _("needs the design rate of the soil")
    return format_html(_("at {rate} into the soil"), rate=measure(store.soil_rate_mm_h, Quantity.RATE, units))


def _left_by_fall(surface: Surface, store: Store, units: str) -> Figure:
    value = pgettext("of the water", "all") if store.slope_share == 1 else percent(store.slope_share)
    return Figure(_("Left by the fall of the subgrade"), value, _fall(surface, units))


def _fall(surface: Surface, units: str) -> str:
    if surface.subgrade_slope_percent is None:
        return _("taken as level")
    fall = _("{percent} % fall").format(percent=figure(surface.subgrade_slope_percent))
    if not surface.subgrade_fall_length_m:
        return fall
    length = measure(surface.subgrade_fall_length_m, Quantity.LENGTH, units)
    # Translators: a fall, as "1 % fall", over a length.
    return format_html(_("{fall} over {length}"), fall=fall, length=length)


def _reuse(surface: Surface, store: Store, units: str) -> Figure:
    if not surface.reuse_store_m3:
        return Figure(_("Reuse store"), pgettext("store", "none"), _("no water is kept for irrigation"))
    kept = measure(surface.reuse_store_m3, Quantity.VOLUME, units)
    value = measure(store.reuse_mm, Quantity.SHORT_LENGTH, units)
    filled = _("{volume} for irrigation, filled by the overflow or drain")
    said = filled if store.has_pipe else _("{volume} for irrigation, gets nothing without a pipe")
    return Figure(_("Reuse store"), value, format_html(said, volume=kept))
