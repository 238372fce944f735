"""Whether the forecasts of a firm can be trusted, from its own record. Reads only."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # stats is loaded when first named
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, pgettext

from accounts.models import Organisation
from clogging import api
from clogging.posterior_summary import QUANTITIES, ParameterSummary, summarise_posterior
from clogging.scores import Calibration, calibration_of
from core.calc.paving import SurfaceType
from maintenance.calc.backtest_payload import BacktestScores
from maintenance.calc.sediment import FAST
from maintenance.calc.vocabulary import ForecastBasis
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.fits import latest_fit, stored_fit

BINS = 10
EXPECTED_LEVEL = 0.95
MOST_FAST = (
    50  # surfaces that are named, the fastest first; in a large firm one in ten is faster than nine in ten
)

HEADS = {
    "mu_b": gettext_noop("Rate as new"),
    "mu_lam": gettext_noop("Loss of rate, on a site with nothing special"),
    "beta": gettext_noop("Loss of rate that a condition adds"),
    "kappa": gettext_noop(
        "Shape of the decline: 0 is even, above 0 slows down towards a floor, below 0 speeds up"
    ),
    "gamma": gettext_noop("Part of each loss that no cleaning brings back"),
    "corr": gettext_noop("Whether a faster start goes with a faster loss, from -1 to 1"),
    "tau_b": gettext_noop("How far like surfaces differ as new"),
    "tau_lam": gettext_noop("How far like surfaces differ in their loss"),
    "sd_day": gettext_noop("Scatter from day to day"),
    "sd_spot": gettext_noop("Scatter from spot to spot"),
    "location_share": gettext_noop("Part of the spot scatter that stays with a fixed location"),
    "wet": gettext_noop("Share a wet surface takes off a cleaning"),
    "offset": gettext_noop("Reading of a method against the ring"),
    "source_factor": gettext_noop("Loss after a source of sediment stops or begins, over that before it"),
}
CONDITIONS = {
    "run_on_ratio": gettext_noop("each unit of run-on area over own area"),
    "bare_soil": gettext_noop("bare soil or planting draining on"),
    "trees": gettext_noop("trees"),
    "winter_grit": gettext_noop("winter grit"),
    "traffic": gettext_noop("each step of traffic (feet, cars, lorries)"),
}

NAMES = {  # of ways of cleaning and testing, and of changes of source, by their names in the model
    "broom": gettext_noop("broom"),
    "regen_air": gettext_noop("regen air"),
    "vacuum": gettext_noop("vacuum"),
    "wash_vacuum": gettext_noop("wash vacuum"),
    "joint_refill": gettext_noop("joint refill"),
    "rejoint_resin": gettext_noop("rejoint resin"),
    "mill": gettext_noop("mill"),
    "relay": gettext_noop("relay"),
    "falling_head": gettext_noop("falling head"),
    "square_double_ring": gettext_noop("square double ring"),
    "flooding": gettext_noop("flooding"),
    "frame": gettext_noop("frame"),
    "stopped": gettext_noop("stopped"),
    "started": gettext_noop("started"),
}


@dataclass(frozen=True, slots=True)
class Bin:
    """A tenth of the probability scale: how many rounds fell in it."""

    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True)
class FastDecline:
    """A surface that falls faster than its kind, and what to look for."""

    forecast: Forecast
    place: float
    causes: Sequence[str]


@dataclass(frozen=True, slots=True)
class CalibrationReport:
    """What the page shows. `calibration` is None before any forecast was followed by a round.

    outdated: whether the newest fit cannot be read, so that all this rests on published figures.
    unfinished: the fit that is being made or waits to be.
    fast, fast_count: the surfaces that fall fastest for their kind, at most MOST_FAST, and how many there are.
    """

    fit: PortfolioFit | None
    outdated: bool
    unfinished: PortfolioFit | None
    groups: Sequence[tuple[str, str, Sequence[tuple[str, ParameterSummary]]]]
    shares: Sequence[api.CleaningShare]
    calibration: Calibration | None
    bins: Sequence[Bin]
    fast: Sequence[FastDecline]
    fast_count: int
    backtest: BacktestScores | None

    @property
    def fast_unnamed(self) -> int:
        """How many surfaces that fall fast are not named."""
        return self.fast_count - len(self.fast)


def calibration_report_of(organisation: Organisation) -> CalibrationReport:
    """Everything the firm's record says about its forecasts, in a constant number of queries."""
    at_hand, latest = stored_fit(organisation), latest_fit(organisation)
    rows = Forecast.objects.of_organisation(organisation).filter(surface__removed_on=None)
    made = rows.filter(decline_percentile__isnull=False)
    seen = list(made.order_by().values_list("surface__surface_type", "decline_percentile", "pits_json"))
    judged = calibration_of([pit for _, _, pits in seen for pit in pits])
    kinds = {kind for kind, _, _ in seen}
    return CalibrationReport(
        fit=at_hand.row,
        outdated=at_hand.rests_on is ForecastBasis.OUTDATED,
        unfinished=latest if latest and latest.is_unfinished else None,
        groups=_groups(at_hand.parameters, kinds),
        shares=api.cleaning_shares(at_hand.parameters),
        calibration=judged,
        bins=histogram(judged.pits) if judged else (),
        fast=_fast(made.filter(decline_percentile__gt=FAST)),
        fast_count=sum((place or 0.0) > FAST for _, place, _ in seen),
        backtest=at_hand.row.backtest if at_hand.row else None,
    )


def histogram(pits: Iterable[float]) -> list[Bin]:
    """How many probabilities fall in each tenth; 1 belongs to the last."""
    tenths = np.minimum((np.fromiter(pits, float) * BINS).astype(int), BINS - 1)
    counts = np.bincount(tenths, minlength=BINS).tolist()
    return [Bin(i / BINS, (i + 1) / BINS, count) for i, count in enumerate(counts)]


def expected_counts(rounds: int, bins: int) -> tuple[int, int]:
    """Counts between which a bin of honest forecasts lies, EXPECTED_LEVEL of the time for each bin by itself."""
    tail = (1.0 - EXPECTED_LEVEL) / 2.0
    return int(scipy.stats.binom.ppf(tail, rounds, 1.0 / bins)), int(
        scipy.stats.binom.ppf(1.0 - tail, rounds, 1.0 / bins)
    )


def _groups(
    fitted: api.PortfolioFit, kinds: set[str]
) -> list[tuple[str, str, list[tuple[str, ParameterSummary]]]]:
    """Parameters by what they are, those of surface types the firm has."""
    groups = []
    learnt = summarise_posterior(fitted)
    for head, words in HEADS.items():
        mine = [(_key_words(p), p) for p in learnt if p.head == head and _concerns(p, kinds)]
        if mine:
            groups.append((_(words), _unit(head), mine))
    return groups


def _unit(head: str) -> str:
    unit = QUANTITIES[head].unit
    return pgettext("for each", "a year") if unit == "a year" else _(unit)


def _concerns(p: ParameterSummary, kinds: set[str]) -> bool:
    """Leave out types the firm has not, and wet penalties and offsets that its records say nothing about."""
    if p.head in ("mu_b", "mu_lam", "kappa"):
        return p.key in kinds
    return p.head not in ("wet", "offset", "source_factor") or p.sd_reduction > 0.02


def _key_words(p: ParameterSummary) -> str:
    if p.head in ("mu_b", "mu_lam", "kappa"):
        return SurfaceType(p.key).label
    if p.key in CONDITIONS:
        return _(CONDITIONS[p.key])
    return _(NAMES.get(p.key, p.key)) if p.key else _("all surfaces")


def _fast(rows: QuerySet[Forecast]) -> list[FastDecline]:
    found = (
        rows.select_related("surface__site")
        .defer(*Forecast.bulky())
        .order_by("-decline_percentile", "surface")
    )
    return [FastDecline(row, row.decline_percentile or 0.0, likely_causes(row)) for row in found[:MOST_FAST]]


def likely_causes(row: Forecast) -> list[str]:
    """What usually lies behind a surface that clogs faster than the model expects of its kind and site.

    Source: fines from disturbed soil cost a factor of 25 to 300 (Bean et al. 2007, J. Irrig. Drain. Eng. 133:249);
    clogging starts at the upgradient edge (Brown & Borst 2014); the rest is common practice, no source.
    """
    surface = row.surface
    causes = []
    if not surface.bare_soil:
        causes.append(_("soil or planting that drains onto it unrecorded: walk the upper edge after rain"))
    if surface.run_on_ratio > 0.3:
        causes.append(
            _("run-on that carries more sediment than usual: look for a broken silt trap or an eroding edge")
        )
    causes.append(_("building work, stored soil, mulch or sand on or beside it"))
    if surface.trees:
        causes.append(_("leaves left until they rot"))
    if surface.winter_grit:
        causes.append(_("more grit than usual, or sand instead of clean chippings (chip stone)"))
    causes.append(_("joint or bedding stone that was too fine, or dirty, from the start"))
    return causes
