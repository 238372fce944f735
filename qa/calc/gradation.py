"""Grading of aggregate: bands, characteristic sizes, voids and permeability, filter between layers.

Sources: sizes of ASTM D448 = AASHTO M 43, looked up in a state highway specification (table
703.01-1M); No. 57 and 67 agree with Iowa DOT IM 209 App. D, the sizes 57 to 9 with a transcription
of ASTM C33. No. 2, 3 and 4 rest on that table and memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import exp, isfinite, log
from typing import ClassVar

from core.calc.format import fixed
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.deviations import require_positive
from qa.calc.numbers import short
from qa.calc.sieves import sieve_label
from qa.calc.sources import Source, SourceStatus
from qa.calc.stone_names import common_name

Limits = Mapping[float, tuple[float, float]]

_TABLE = Source(
    gettext_noop("ASTM D448 / AASHTO M 43, state highway table 703.01-1M"), SourceStatus.LOOKED_UP
)
_COARSE_TABLE = Source(gettext_noop("ASTM D448 / AASHTO M 43"), SourceStatus.FROM_MEMORY)
HAZEN_D10_MM = (0.1, 3.0)
FINES_MAX_PERCENT = 2.0


@dataclass(frozen=True, slots=True)
class BandLimits(Payload):
    """The sieves of an own band as they are kept: opening in mm, least and greatest percent passing, coarse first."""

    SCHEMA: ClassVar[int] = 1

    rows: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Band:
    """A grading band: for each sieve in mm the least and greatest percent passing, both allowed."""

    name: str
    limits: Limits
    source: Source

    @property
    def common(self) -> str:
        """What the trade calls the size, with a pair of sizes in it; empty where it has no such name."""
        return common_name(self.name.removeprefix("No. "))

    def __post_init__(self) -> None:
        """Refuse an own band that no stone could meet."""
        for sieve, (low, high) in self.limits.items():
            require_positive(
                gettext_noop("Sieve size"), sieve, "mm", gettext_noop("Enter the opening of the sieve.")
            )
            if not 0 <= low <= high <= 100:
                raise ImpossibleRecordError(
                    _(
                        "The {sieve} sieve of {band} goes from {low} to {high} %. "
                        "Enter the lower percent first, both between 0 and 100."
                    ).format(sieve=sieve_label(sieve), band=self.name, low=short(low), high=short(high))
                )
        if not self.limits:
            raise IncompleteRecordError(
                _("The band {band} has no sieves. Enter at least one.").format(band=self.name)
            )


def _band(name: str, limits: Limits, source: Source = _TABLE) -> Band:
    return Band(name, limits, source)


_FULL = (100.0, 100.0)
BANDS = {
    "2": _band("No. 2", {75: _FULL, 63: (90, 100), 50: (35, 70), 37.5: (0, 15), 19: (0, 5)}, _COARSE_TABLE),
    "3": _band("No. 3", {63: _FULL, 50: (90, 100), 37.5: (35, 70), 25: (0, 15), 12.5: (0, 5)}, _COARSE_TABLE),
    "4": _band("No. 4", {50: _FULL, 37.5: (90, 100), 25: (20, 55), 19: (0, 15), 9.5: (0, 5)}, _COARSE_TABLE),
    "5": _band("No. 5", {37.5: _FULL, 25: (90, 100), 19: (20, 55), 12.5: (0, 10), 9.5: (0, 5)}),
    "57": _band("No. 57", {37.5: _FULL, 25: (95, 100), 12.5: (25, 60), 4.75: (0, 10), 2.36: (0, 5)}),
    "67": _band("No. 67", {25: _FULL, 19: (90, 100), 9.5: (20, 55), 4.75: (0, 10), 2.36: (0, 5)}),
    "78": _band(
        "No. 78", {19: _FULL, 12.5: (90, 100), 9.5: (40, 75), 4.75: (5, 25), 2.36: (0, 10), 1.18: (0, 5)}
    ),
    "8": _band("No. 8", {12.5: _FULL, 9.5: (85, 100), 4.75: (10, 30), 2.36: (0, 10), 1.18: (0, 5)}),
    "89": _band(
        "No. 89", {12.5: _FULL, 9.5: (90, 100), 4.75: (20, 55), 2.36: (5, 30), 1.18: (0, 10), 0.3: (0, 5)}
    ),
    "9": _band("No. 9", {9.5: _FULL, 4.75: (85, 100), 2.36: (10, 40), 1.18: (0, 10), 0.3: (0, 5)}),
}


@dataclass(frozen=True, slots=True)
class SieveFinding:
    """A sieve that is out of the band or was not reported (passing None)."""

    sieve_mm: float
    passing: float | None
    low: float
    high: float
    reason: str


@dataclass(frozen=True, slots=True)
class GradingResult:
    """Whether a grading lies in its band, the sieves that do not, and what looks wrong in the report."""

    passes: bool
    failures: tuple[SieveFinding, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Characteristic sizes in mm and the coefficient of uniformity d60/d10."""

    d10_mm: float
    d15_mm: float
    d50_mm: float
    d60_mm: float
    d85_mm: float

    @property
    def uniformity(self) -> float:
        """Cu; near 1 for stone of one size."""
        return self.d60_mm / self.d10_mm


@dataclass(frozen=True, slots=True)
class FilterCheck:
    """Whether the finer layer above stays out of the coarser one below."""

    d15_to_d85: float
    d50_to_d50: float
    holds: bool
    reason: str


def check_grading(passing: Mapping[float, float], band: Band) -> GradingResult:
    """A sieve analysis against a band; the limits themselves pass, sieves without a limit are ignored.

    passing: percent passing by sieve in mm. A sieve of the band that is not reported fails it.
    """
    _refuse_bad_passing(passing)
    findings = (_judge(sieve, passing.get(sieve), *limits) for sieve, limits in band.limits.items())
    failures = tuple(f for f in findings if f is not None)
    return GradingResult(not failures, failures, tuple(data_quality_notes(passing)))


def _judge(sieve: float, percent: float | None, low: float, high: float) -> SieveFinding | None:
    if percent is None:
        said = _("The {sieve} sieve was not reported; {asked} passing is asked. Ask for it.")
    elif percent < low:
        said = _("Only {percent} % pass the {sieve} sieve; {asked} is asked. Too coarse here.")
    elif percent > high:
        said = _("{percent} % pass the {sieve} sieve; {asked} is asked. Too fine here.")
    else:
        return None
    found = "" if percent is None else short(percent)
    reason = said.format(percent=found, sieve=sieve_label(sieve), asked=asked_words(low, high))
    return SieveFinding(sieve, percent, low, high, reason)


def asked_words(low: float, high: float) -> str:
    """The limits of a sieve in words."""
    if low == high:
        return _("{percent} %").format(percent=short(low))
    return _("{low} to {high} %").format(low=short(low), high=short(high))


def _refuse_bad_passing(passing: Mapping[float, float]) -> None:
    if not passing:
        raise IncompleteRecordError(_("The sieve analysis has no sieves. Enter the percent passing of each."))
    for sieve, percent in passing.items():
        require_positive(
            gettext_noop("Sieve size"), sieve, "mm", gettext_noop("Enter the opening of the sieve.")
        )
        if not (isfinite(percent) and 0 <= percent <= 100):
            raise ImpossibleRecordError(
                _("The {sieve} sieve passes {percent} %. Enter 0 to 100.").format(
                    sieve=sieve_label(sieve), percent=short(percent)
                )
            )


def data_quality_notes(passing: Mapping[float, float]) -> list[str]:
    """A finer sieve cannot pass more than a coarser one: an entry is wrong or two are swapped."""
    coarse_first = sorted(passing.items(), reverse=True)
    said = _(
        "The {fine} sieve passes {more} %, more than the {less} % of the {coarse} sieve above it. Check the report."
    )
    return [
        said.format(fine=sieve_label(fine), more=short(more), less=short(less), coarse=sieve_label(coarse))
        for (coarse, less), (fine, more) in pairwise(coarse_first)
        if more > less
    ]


def size_at(passing: Mapping[float, float], percent: float) -> float:
    """Size in mm that a percent by mass is finer than, linear in percent over the logarithm of size.

    Raises IncompleteRecordError where the sieves used do not bracket the percent.
    """
    _refuse_bad_passing(passing)
    odd = data_quality_notes(passing)
    if odd:
        raise ImpossibleRecordError(odd[0])
    fine_first = sorted(passing.items())
    for (s0, p0), (s1, p1) in pairwise(fine_first):
        if p0 <= percent <= p1 and p1 > p0:
            share = (percent - p0) / (p1 - p0)
            return exp(log(s0) + share * (log(s1) - log(s0)))
    low, high = fine_first[0][1], fine_first[-1][1]
    raise IncompleteRecordError(
        _(
            "d{percent} lies outside the sieves used, which pass {low} to {high} %. "
            "Add finer or coarser sieves to the analysis."
        ).format(percent=f"{percent:g}", low=short(low), high=short(high))
    )


def characteristic_sizes(passing: Mapping[float, float]) -> Sizes:
    """d10, d15, d50, d60 and d85 of a sieve analysis."""
    return Sizes(*(size_at(passing, percent) for percent in (10, 15, 50, 60, 85)))


def porosity_from_uniformity(uniformity: float) -> float:
    """Porosity estimated from Cu = d60/d10: n = 0.255·(1 + 0.83^Cu). For stone with fines.

    Source: Vukovic & Soro (name from memory), as used in the Ontario guide's table of granulars (looked up).
    """
    if not (isfinite(uniformity) and uniformity >= 1):
        raise ImpossibleRecordError(
            _("Cu is d60/d10 and cannot be below 1, got {value}. Check the sizes.").format(
                value=short(uniformity)
            )
        )
    return float(0.255 * (1 + 0.83**uniformity))


def hazen_conductivity_mm_h(d10_mm: float) -> float:
    """Conductivity in mm/h estimated from d10: K = 3600·d10², d10 in mm.

    Source: Hazen, as used in the Ontario guide's table of granulars (looked up). The rule is meant for
    sands; beyond d10 = 3 mm it is only a figure of order.
    """
    require_positive(gettext_noop("d10"), d10_mm, "mm", gettext_noop("Take it from the sieve analysis."))
    return 3600.0 * d10_mm**2


def hazen_warning(d10_mm: float) -> str:
    """What to say beside the estimate, empty when d10 lies in the rule's usual range (from memory)."""
    low, high = HAZEN_D10_MM
    if low <= d10_mm <= high:
        return ""
    said = _(
        "d10 = {d10} mm lies outside {low} to {high} mm, for which the rule was made; "
        "take the conductivity as a figure of order only."
    )
    return said.format(d10=short(d10_mm), low=short(low), high=short(high))


def filter_check(upper: Sizes, lower: Sizes) -> FilterCheck:
    """Whether stone above stays on the stone below: D15/d85 < 5 and D50/d50 < 25.

    upper: the finer layer on top. lower: the coarser one under it.

    Source: filter criteria for open-graded layers (from memory).
    """
    first = lower.d15_mm / upper.d85_mm
    second = lower.d50_mm / upper.d50_mm
    if first < 5 and second < 25:
        return FilterCheck(first, second, True, _("The upper layer stays out of the lower one."))
    said = _FILTER_FAILS[first < 5, second < 25]
    reason = _(said).format(d15=fixed(first, 1), d50=fixed(second, 1))
    return FilterCheck(first, second, False, reason)


# By whether D15 and D50 hold.
_FILTER_FAILS = {
    (False, True): gettext_noop(
        "D15 below is {d15} times d85 above, and less than 5 is asked. "
        "Put a choker layer or a geotextile between them."
    ),
    (True, False): gettext_noop(
        "D50 below is {d50} times d50 above, and less than 25 is asked. "
        "Put a choker layer or a geotextile between them."
    ),
    (False, False): gettext_noop(
        "D15 below is {d15} times d85 above, and less than 5 is asked and D50 below is {d50} times d50 above, and less "
        "than 25 is asked. Put a choker layer or a geotextile between them."
    ),
}
