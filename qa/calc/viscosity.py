"""Viscosity of water, as information beside a reading. No test standard corrects its rate for it."""

from math import isfinite

from core.calc.translation import gettext as _
from core.errors import ImpossibleRecordError
from qa.calc.numbers import short

REFERENCE_C = 20.0
VISCOSITY_AT_20_MPA_S = 1.002


def viscosity_mpa_s(water_c: float) -> float:
    """Dynamic viscosity of water in mPa·s, from 0 to 60 °C at air pressure.

    Source: Kestin, Sokolov & Wakeham 1978, J. Phys. Chem. Ref. Data 7(3):941 (from memory).
    """
    if not (isfinite(water_c) and 0 <= water_c <= 60):
        raise ImpossibleRecordError(
            _("The water must be between 0 and 60 °C, got {degrees}. Check the thermometer.").format(
                degrees=short(water_c)
            )
        )
    cold = REFERENCE_C - water_c
    exponent = cold / (water_c + 96.0) * (1.2364 - 1.37e-3 * cold + 5.7e-6 * cold**2)
    return float(VISCOSITY_AT_20_MPA_S * 10**exponent)


def rate_at_20_c(rate_mm_h: float, water_c: float) -> float:
    """What the rate might be with water of 20 °C. Information only, never the result of the test.

    Flow through fine voids goes with the inverse of viscosity; in coarse stone it does so less.
    """
    return rate_mm_h * viscosity_mpa_s(water_c) / VISCOSITY_AT_20_MPA_S
