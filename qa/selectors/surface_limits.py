"""Which limit and which acceptance rate apply to a surface, and why: from the row to the formulas."""

from math import isclose
from typing import Any

from django.utils.translation import gettext_noop

from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.deviations import require_positive
from qa.calc.limits import (
    PRESETS,
    Agreed,
    DesignRainLimit,
    Governing,
    governing_acceptance,
    governing_limit,
    limit_from_design_rain,
)
from qa.models import Surface


def limit_of(surface: Surface, units: str = "si") -> Governing:
    """The limit that governs. Raises IncompleteRecordError when nothing that was chosen gives one."""
    agreed = surface.agreed_limit_mm_h
    return governing_limit(**_rules(surface, agreed, units))


def acceptance_of(surface: Surface, units: str = "si") -> Governing | None:
    """The acceptance rate, None where nothing asks for one."""
    return governing_acceptance(**_rules(surface, surface.acceptance_rate_mm_h, units))


def limit_known(surface: Surface, units: str = "si") -> Governing | None:
    """The limit that governs for a page to explain.

    None for a row stored without what it is made from, and for one whose stored limit, which forecasts and tests
    are held against, is no longer what its rule gives: a page explains no other figure than the one it shows.
    """
    try:
        found = limit_of(surface, units)
    except UnusableRecordError:
        return None
    return found if isclose(found.limit_mm_h, surface.limit_mm_h, rel_tol=1e-9) else None


def _rules(surface: Surface, agreed_mm_h: float | None, units: str) -> dict[str, Any]:
    return {
        "preset": PRESETS.get(surface.limit_preset),
        "own": surface.own_limit.as_preset if surface.own_limit else None,
        "design_rain": _design_rain(surface),
        "agreed": None if agreed_mm_h is None else Agreed(agreed_mm_h, surface.agreed_source),
        "system": UnitSystem(units),
    }


def _design_rain(surface: Surface) -> DesignRainLimit | None:
    if surface.design_intensity_mm_h is None:
        return None
    require_positive(gettext_noop("Area"), surface.area_m2, "m²", gettext_noop("Measure the surface."))
    return limit_from_design_rain(surface.design_intensity_mm_h, surface.run_on_ratio, surface.clogging_share)
