"""Simple exponential decline of a rate, and the gain of a cleaning. For checks and first guesses.

Source of the usual figure: about 18 % of the new rate is left after about 10 years on concrete
pavers with joints (Borgwardt 2006, looked up as quoted by a water authority's page).
"""

from math import exp, isfinite, log

from core.errors import ImpossibleRecordError
from qa.calc.deviations import require_not_negative, require_positive


def decay_constant_per_year(share_left: float, years: float) -> float:
    """Rate of decline k in 1/year when a share (0 to 1) of the new rate is left after some years."""
    if not 0 < share_left < 1:
        raise ImpossibleRecordError(
            f"The share left must be between 0 and 1, got {share_left:g}. 18 % is 0.18."
        )
    require_positive("Time", years, "years", "Enter the age at which the share was left.")
    return -log(share_left) / years


def half_life_years(decay_per_year: float) -> float:
    """Years in which the rate halves."""
    require_positive("Decline", decay_per_year, "1/year", "A rate that does not fall has no half-life.")
    return log(2) / decay_per_year


def rate_after(start_mm_h: float, decay_per_year: float, years: float) -> float:
    """Rate in mm/h after some years without cleaning."""
    require_not_negative("Time", years, "years")
    return start_mm_h * exp(-decay_per_year * years)


def years_until(start_mm_h: float, limit_mm_h: float, decay_per_year: float) -> float:
    """Years until the rate falls to a limit; 0 when it is there already."""
    require_positive("Start rate", start_mm_h, "mm/h", "Enter the rate when new.")
    require_positive("Limit", limit_mm_h, "mm/h", "Enter the rate below which the surface must be cleaned.")
    require_positive("Decline", decay_per_year, "1/year", "A rate that does not fall reaches no limit.")
    return max(0.0, log(start_mm_h / limit_mm_h) / decay_per_year)


def gain_percent(before: float, after: float) -> float:
    """Change of a rate by a cleaning, in percent of the rate before; both in one unit."""
    require_positive("Rate before", before, "", "A gain needs a rate before the cleaning.")
    if not isfinite(after):
        raise ImpossibleRecordError(f"The rate after must be a number, got {after:g}. Check the entry.")
    return (after - before) / before * 100
