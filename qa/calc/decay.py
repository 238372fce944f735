"""Simple exponential decline of a rate, and the gain of a cleaning. For checks and first guesses.

Source of the usual figure: about 18 % of the new rate is left after about 10 years on concrete
pavers with joints (Borgwardt 2006, looked up as quoted by a water authority's page).
"""

from math import exp, isfinite, log

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short


def decay_constant_per_year(share_left: float, years: float) -> float:
    """Rate of decline k in 1/year when a share (0 to 1) of the new rate is left after some years."""
    if not 0 < share_left < 1:
        raise ImpossibleRecordError(
            _("The share left must be between 0 and 1, got {share}. 18 % is 0.18.").format(
                share=short(share_left)
            )
        )
    require_positive(
        gettext_noop("Time"),
        years,
        gettext_noop("years"),
        gettext_noop("Enter the age at which the share was left."),
    )
    return -log(share_left) / years


def half_life_years(decay_per_year: float) -> float:
    """Years in which the rate halves."""
    require_positive(
        gettext_noop("Decline"),
        decay_per_year,
        gettext_noop("1/year"),
        gettext_noop("A rate that does not fall has no half-life."),
    )
    return log(2) / decay_per_year


def rate_after(start_mm_h: float, decay_per_year: float, years: float) -> float:
    """Rate in mm/h after some years without cleaning."""
    require_not_negative(gettext_noop("Time"), years, gettext_noop("years"))
    return start_mm_h * exp(-decay_per_year * years)


def years_until(start_mm_h: float, limit_mm_h: float, decay_per_year: float) -> float:
    """Years until the rate falls to a limit; 0 when it is there already."""
    require_positive(gettext_noop("Start rate"), start_mm_h, "mm/h", gettext_noop("Enter the rate when new."))
    require_positive(
        gettext_noop("Limit"),
        limit_mm_h,
        "mm/h",
        gettext_noop("Enter the rate below which the surface must be cleaned."),
    )
    require_positive(
        gettext_noop("Decline"),
        decay_per_year,
        gettext_noop("1/year"),
        gettext_noop("A rate that does not fall reaches no limit."),
    )
    return max(0.0, log(start_mm_h / limit_mm_h) / decay_per_year)


def gain_percent(before: float, after: float) -> float:
    """Change of a rate by a cleaning, in percent of the rate before; both in one unit."""
    require_positive(
        gettext_noop("Rate before"), before, "", gettext_noop("A gain needs a rate before the cleaning.")
    )
    if not isfinite(after):
        raise ImpossibleRecordError(
            _("The rate after must be a number, got {rate}. Check the entry.").format(rate=short(after))
        )
    return (after - before) / before * 100
