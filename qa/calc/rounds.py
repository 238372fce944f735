"""Statistics of one round of tests: what the surface as a whole does, and how well that is known.

Sources: arithmetic mean of the locations, and the mean of two repeats at a spot: ASTM C1701/C1701M
and C1781/C1781M (mean looked up, repeats from memory). Rates on a surface are strongly skewed, so
the range is worked out on the log scale; bounds enter it by the likelihood of a censored normal
(Helsel 2012, Statistics for Censored Environmental Data, ch. 6).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import erfc, exp, log, pi, sqrt
from statistics import fmean, median, stdev

from scipy.special import stdtrit

from core.calc.bounds import Bound
from core.calc.choices import TextChoice
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, ngettext
from core.calc.units import UnitSystem
from core.errors import IncompleteRecordError
from qa.calc.counts import count_deviation
from qa.calc.deviations import Deviation, require_positive
from qa.calc.limits import is_below
from qa.calc.ring import MOST_TESTS_PER_SPOT_AND_DAY
from qa.calc.validity import RoundConditions, weather_deviations

MOST_TESTS_PLANNED = 500
_MOST_STEPS = 2000


class Purpose(TextChoice):
    """What a round is made for."""

    ACCEPTANCE = "acceptance", "Acceptance"
    ROUTINE = "routine", "Routine"
    BEFORE_CLEANING = "before_cleaning", "Before cleaning"
    AFTER_CLEANING = "after_cleaning", "After cleaning"
    COMPLAINT = "complaint", "Complaint"


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate with what it bounds: itself, or a limit it lies below or above."""

    rate_mm_h: float
    bound: Bound = Bound.EXACT


@dataclass(frozen=True, slots=True)
class Summary:
    """A number worked out from rates some of which are bounds; `bound` says which way it may be off."""

    rate_mm_h: float
    bound: Bound


@dataclass(frozen=True, slots=True)
class SurfaceRange:
    """Where the geometric mean of the whole surface lies, on the log scale.

    low_mm_h, high_mm_h: ends of the confidence interval. spread_factor: geometric standard
    deviation from spot to spot; about two spots in three lie within this factor of the mean.
    """

    low_mm_h: float
    geometric_mean_mm_h: float
    high_mm_h: float
    spread_factor: float
    confidence: float


@dataclass(frozen=True, slots=True)
class BelowLimit:
    """How many spots are below the limit, not below it, and not to be told (a bound on the wrong side)."""

    below: int
    not_below: int
    undecided: int


@dataclass(frozen=True, slots=True)
class RoundStatistics:
    """One round over all its spots. `surface` is None when the rates do not suffice for a range."""

    spots: int
    bounded_spots: int
    mean: Summary
    median: Summary
    geometric_mean: Summary
    lowest: Rate
    highest: Rate
    surface: SurfaceRange | None
    note: str


def spot_mean(repeats: Sequence[Rate]) -> Rate:
    """The rate of a spot from its one or two tests of that day; a third one is left out.

    A mean with a bound in it is a bound itself.

    Source: ASTM C1701/C1701M, C1781/C1781M (from memory).
    """
    if not repeats:
        raise IncompleteRecordError(_("A spot needs at least 1 test, got 0. Record a test first."))
    used = repeats[:MOST_TESTS_PER_SPOT_AND_DAY]
    return Rate(fmean(r.rate_mm_h for r in used), _joint_bound(used))


def round_statistics(spots: Sequence[Rate], confidence: float = 0.95) -> RoundStatistics:
    """Mean, median, geometric mean, and the range in which the surface's geometric mean lies.

    spots: one rate a spot. The arithmetic mean is what the test standards report; it stands on the
    fast spots, so the median and the geometric mean are given beside it. Bounded rates enter mean
    and median at their bound and the summary says which way it is off.
    """
    _refuse_bad_rates(spots)
    rates = [s.rate_mm_h for s in spots]
    bounded = sum(s.bound is not Bound.EXACT for s in spots)
    joint = _joint_bound(spots)
    surface = surface_range(spots, confidence)
    return RoundStatistics(
        spots=len(spots),
        bounded_spots=bounded,
        mean=Summary(fmean(rates), joint),
        median=_median(spots),
        geometric_mean=geometric_mean(spots),
        lowest=min(spots, key=lambda s: s.rate_mm_h),
        highest=max(spots, key=lambda s: s.rate_mm_h),
        surface=surface,
        note=_note(len(spots), bounded, surface),
    )


def geometric_mean(spots: Sequence[Rate]) -> Summary:
    """The geometric mean of one rate a spot, bounded rates at their bound; `bound` says which way it is off."""
    _refuse_bad_rates(spots)
    return Summary(exp(fmean(log(s.rate_mm_h) for s in spots)), _joint_bound(spots))


def surface_range(spots: Sequence[Rate], confidence: float = 0.95) -> SurfaceRange | None:
    """Confidence interval of the geometric mean; None with fewer than 2 exact, different rates.

    Without bounds: Student's t on the logarithms. With bounds: maximum likelihood of a censored
    normal on the logarithms, Student's t with the exact rates' degrees of freedom.
    """
    if not 0 < confidence < 1:
        raise ValueError(f"Confidence must be between 0 and 1, got {confidence:g}. 0.95 is usual.")
    exact = [log(s.rate_mm_h) for s in spots if s.bound is Bound.EXACT]
    if len(exact) < 2 or max(exact) - min(exact) < 1e-9:
        return None
    if len(exact) == len(spots):
        mu, sigma, error = fmean(exact), stdev(exact), stdev(exact) / sqrt(len(exact))
    else:
        fitted = _censored_normal(spots)
        if fitted is None:
            return None
        mu, sigma, error = fitted
    half = float(stdtrit(len(exact) - 1, 0.5 + confidence / 2)) * error
    return SurfaceRange(exp(mu - half), exp(mu), exp(mu + half), exp(sigma), confidence)


def more_tests_needed(spread_factor: float, tested: int, factor: float, confidence: float = 0.95) -> int:
    """How many more spots to know the surface's geometric mean within `factor` up or down.

    spread_factor: geometric standard deviation between spots (1 or more). Smallest n with
    t(n-1)·ln(spread)/√n ≤ ln(factor), less the spots tested; at most `MOST_TESTS_PLANNED`.
    """
    if spread_factor < 1 or factor <= 1:
        raise ValueError(
            f"The spread must be 1 or more and the factor more than 1, got {spread_factor:g} and {factor:g}."
        )
    ratio = log(spread_factor) / log(factor)
    for n in range(max(2, tested), MOST_TESTS_PLANNED):
        if float(stdtrit(n - 1, 0.5 + confidence / 2)) * ratio / sqrt(n) <= 1:
            return max(0, n - tested)
    return MOST_TESTS_PLANNED - tested


def below_limit(spots: Sequence[Rate], limit_mm_h: float) -> BelowLimit:
    """Spots below the limit; a rate equal to the limit is not below it."""
    require_positive(
        gettext_noop("Limit"),
        limit_mm_h,
        "mm/h",
        gettext_noop("Enter the rate below which the surface must be cleaned."),
    )
    verdicts = [_is_below(s, limit_mm_h) for s in spots]
    return BelowLimit(verdicts.count(True), verdicts.count(False), verdicts.count(None))


def below_limit_in_ranges(ranges: Sequence[tuple[float, float]], limit_mm_h: float) -> BelowLimit:
    """The same for rates known only within a range, such as converted ones; a range over the limit says nothing."""
    require_positive(
        gettext_noop("Limit"),
        limit_mm_h,
        "mm/h",
        gettext_noop("Enter the rate below which the surface must be cleaned."),
    )
    below = sum(is_below(high, limit_mm_h) for _low, high in ranges)
    not_below = sum(not is_below(low, limit_mm_h) for low, _high in ranges)
    return BelowLimit(below, not_below, len(ranges) - below - not_below)


def round_deviations(
    conditions: RoundConditions,
    tested: int,
    area: float,
    system: UnitSystem,
    method: TestMethod = TestMethod.RING,
) -> tuple[Deviation, ...]:
    """Deviations that concern the whole round by the method that speaks for it.

    area: m² or ft² by the unit system of the tests. A number of spots is asked of the ring test alone.
    """
    count = count_deviation(tested, area, system) if method is TestMethod.RING else None
    return (*((count,) if count else ()), *weather_deviations(conditions, method))


def _is_below(spot: Rate, limit_mm_h: float) -> bool | None:
    value = spot.rate_mm_h
    if spot.bound is Bound.EXACT:
        return is_below(value, limit_mm_h)
    if spot.bound is Bound.BELOW and value <= limit_mm_h:
        return True
    if spot.bound is Bound.ABOVE and not is_below(value, limit_mm_h):
        return False
    return None


def _joint_bound(spots: Sequence[Rate]) -> Bound:
    kinds = {s.bound for s in spots} - {Bound.EXACT}
    if not kinds:
        return Bound.EXACT
    return kinds.pop() if len(kinds) == 1 else Bound.UNCLEAR


def _median(spots: Sequence[Rate]) -> Summary:
    """The median with its bound, from the medians of the least and the greatest possible rates."""
    value = median(s.rate_mm_h for s in spots)
    low = median(0.0 if s.bound in (Bound.BELOW, Bound.UNCLEAR) else s.rate_mm_h for s in spots)
    high = median(float("inf") if s.bound in (Bound.ABOVE, Bound.UNCLEAR) else s.rate_mm_h for s in spots)
    if low < value < high:
        return Summary(value, Bound.UNCLEAR)
    if low < value:
        return Summary(value, Bound.BELOW)
    return Summary(value, Bound.ABOVE if high > value else Bound.EXACT)


def _note(spots: int, bounded: int, surface: SurfaceRange | None) -> str:
    parts = []
    if bounded:
        said = ngettext(
            "{bounded} of {spots} rates are bounds (still ponded, too fast to hold the head, or off the method); "
            "they enter the mean and the median at their bound, and the range by how likely they are.",
            "{bounded} of {spots} rates are bounds (still ponded, too fast to hold the head, or off the method); "
            "they enter the mean and the median at their bound, and the range by how likely they are.",
            bounded,
        )
        parts.append(said.format(bounded=bounded, spots=spots))
    if surface is None:
        parts.append(
            _("No range could be worked out: it needs at least 2 exact, different rates. Test more spots.")
        )
    return " ".join(parts)


def _refuse_bad_rates(spots: Sequence[Rate]) -> None:
    if not spots:
        raise IncompleteRecordError(_("A round needs at least 1 rate, got 0. Record a test first."))
    for spot in spots:
        require_positive(
            gettext_noop("Rate"),
            spot.rate_mm_h,
            "mm/h",
            gettext_noop("Record a test without flow as 'still ponded'."),
        )


def _censored_normal(spots: Sequence[Rate]) -> tuple[float, float, float] | None:
    """Mean and spread of the logarithms with bounds among them, and the mean's standard error.

    None when the steps did not settle: the bounds then say too little.

    Expectation-maximisation (Dempster, Laird & Rubin 1977); the error by Louis (1982): a bounded
    value counts for the share of information its conditional variance leaves.
    """
    logs = [(log(s.rate_mm_h), s.bound) for s in spots]
    mu, sigma = fmean(x for x, _bound in logs), max(stdev([x for x, _bound in logs]), 1e-3)
    for _step in range(_MOST_STEPS):
        moments = [_moments(x, bound, mu, sigma) for x, bound in logs]
        new_mu = fmean(m for m, _variance in moments)
        new_sigma = sqrt(fmean(v + (m - new_mu) ** 2 for m, v in moments))
        settled = abs(new_mu - mu) + abs(new_sigma - sigma) < 1e-9
        mu, sigma = new_mu, new_sigma
        if settled:
            information = sum(1 - v / sigma**2 for _mean, v in moments)
            unbiased = sigma * sqrt(len(logs) / (len(logs) - 1))
            return mu, unbiased, unbiased / sqrt(information)
    return None


def _moments(x: float, bound: Bound, mu: float, sigma: float) -> tuple[float, float]:
    """Mean and variance of a normal value known exactly, below x or above x."""
    if bound is Bound.EXACT:
        return x, 0.0
    if bound is Bound.UNCLEAR:
        return mu, sigma**2
    sign = 1.0 if bound is Bound.ABOVE else -1.0
    z = sign * (x - mu) / sigma
    hazard = _hazard(z)
    return mu + sign * sigma * hazard, sigma**2 * max(0.0, 1 + z * hazard - hazard**2)


def _hazard(z: float) -> float:
    """Density over tail of the standard normal; its asymptote where the tail underflows."""
    if z > 30:
        return z + 1 / z
    return exp(-z * z / 2) / sqrt(2 * pi) / (erfc(z / sqrt(2)) / 2)
