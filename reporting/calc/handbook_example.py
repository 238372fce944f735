"""The invented surface that the handbook works through: its figures come from the code that real ones come from."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cache

from clogging import api
from core.calc.bounds import Bound
from core.calc.care_value import BELOW_PRICE_M2_YR
from core.calc.paving import CleaningMethod, SurfaceType, TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from maintenance.calc.actions import DAYS_A_YEAR, LIKELY_SHARE, STAY_MONTHS, WATCH_SHARE
from maintenance.calc.costs import DEFAULT_TERMS, Terms, cleaning_cost
from maintenance.calc.decline import CleaningMark, DeclineRecord, LimitReach, MeasuredRate, RoundMean
from maintenance.calc.forecast_payload import RateCurve
from maintenance.calc.suitability import suited_methods
from maintenance.calc.worked import Sight
from qa.calc.buildups import LayerKind
from qa.calc.ring import RingReading, RingResult, evaluate_ring
from qa.calc.rounds import Rate, round_statistics
from qa.presentation.drawing.record import BuildUp, Layer, Overflow

SURFACE_TYPE = SurfaceType.PICP
AREA_M2, LIMIT_MM_H, ACCEPTANCE_MM_H = 1_200.0, 250.0, 2_500.0
OPENED_ON, TODAY_YR, HORIZON_YR = date(2020, 4, 6), 6.15, 10.0
ROUNDS: tuple[tuple[float, tuple[float, ...]], ...] = (
    (0.02, (5_200.0, 6_100.0, 4_700.0)),
    (2.00, (1_900.0, 3_300.0, 2_600.0)),
    (3.90, (880.0, 1_750.0, 1_350.0)),
    (4.05, (1_150.0, 2_300.0, 1_800.0)),
    (6.10, (330.0, 760.0, 560.0)),
)
PLACES = (gettext_noop("Edge 1"), gettext_noop("Inside 1"), gettext_noop("Inside 2"))
SWEPT_YR = 4.00
READINGS = {
    UnitSystem.SI: RingReading(UnitSystem.SI, 3.60, 41.0, 75.0, 3.60, 300.0, 208.0),
    UnitSystem.US: RingReading(UnitSystem.US, 8.00, 41.0, 75.0, 8.00, 12.0, 208.0),
}


@dataclass(frozen=True, slots=True)
class Way:
    """One way of cleaning at the surface, on the day it is compared for. years: None beyond the horizon."""

    method: CleaningMethod
    sight: Sight
    years: float | None
    lasts_a_year: float


@dataclass(frozen=True, slots=True)
class Example:
    """All that the handbook says of the surface; rates in mm/h, money in no currency of its own."""

    record: DeclineRecord
    seen: api.SurfaceForecast
    ways: tuple[Way, ...]

    @property
    def last_round(self) -> tuple[float, ...]:
        """What the spots read in the last round."""
        return ROUNDS[-1][1]

    @property
    def holding(self) -> tuple[Way, ...]:
        """The ways that keep it within its limit, the cheapest by the year first."""
        able = [way for way in self.ways if way.sight.holding_a_year is not None]
        return tuple(sorted(able, key=lambda way: way.sight.holding_a_year or 0.0))


def ring_example(system: UnitSystem) -> tuple[RingReading, RingResult]:
    """A ring test as it was read, and what comes out of it."""
    reading = READINGS[system]
    return reading, evaluate_ring(reading)


def means_of(rates_mm_h: tuple[float, ...]) -> tuple[float, float]:
    """Arithmetic and geometric mean of the spots of a round."""
    found = round_statistics([Rate(rate) for rate in rates_mm_h])
    return found.mean.rate_mm_h, found.geometric_mean.rate_mm_h


def build_up() -> BuildUp:
    """What the surface is built of."""
    return BuildUp(
        SURFACE_TYPE,
        (
            Layer(LayerKind.SURFACE_COURSE, _("Concrete pavers"), 80.0),
            Layer(LayerKind.JOINT_FILL, _("Clear stone"), 80.0, 2.0, 5.0),
            Layer(LayerKind.BEDDING, _("Clear stone"), 50.0, 2.4, 9.5, 0.35),
            Layer(LayerKind.BASE, _("Clear stone"), 100.0, 5.0, 25.0, 0.40),
            Layer(LayerKind.SUBBASE, _("Clear stone"), 250.0, 19.0, 63.0, 0.40),
            Layer(LayerKind.GEOTEXTILE, _("Woven")),
            Layer(LayerKind.SUBGRADE, _("Sandy silt")),
        ),
        Overflow(200.0, 100.0),
    )


def example() -> Example:
    """The surface thought through as every surface is, for a firm that has this one alone."""
    seen, ways = _thought_through()
    return Example(_record(seen), seen, ways)


@cache
def _thought_through() -> tuple[api.SurfaceForecast, tuple[Way, ...]]:
    """What the model says of it: the same in every language."""
    history = _history()
    fit = api.fit_portfolio([history])
    seen = api.forecast_surface(history, fit, now_yr=TODAY_YR, limit_mm_h=LIMIT_MM_H, horizon_yr=HORIZON_YR)
    return seen, tuple(_ways(history, fit, seen))


def day_of(t_yr: float | None) -> date | None:
    """The day so many years after the opening."""
    return None if t_yr is None else _on(t_yr)


def _history() -> api.SurfaceHistory:
    events: list[api.Event] = [
        api.RoundEvent(t, TestMethod.RING.value, tuple(map(_spot, PLACES, rates))) for t, rates in ROUNDS
    ]
    events.append(api.CleaningEvent(SWEPT_YR, CleaningMethod.VACUUM.value))
    events.sort(key=lambda event: event.t_yr)
    return api.SurfaceHistory(
        SURFACE_TYPE.value, api.Conditions(run_on_ratio=0.4, trees=True, traffic=1), tuple(events)
    )


def _spot(place: str, rate_mm_h: float) -> api.SpotTest:
    return api.SpotTest(rate_mm_h, location=place)


def _ways(history: api.SurfaceHistory, fit: api.PortfolioFit, seen: api.SurfaceForecast) -> list[Way]:
    found = []
    for method in suited_methods(SURFACE_TYPE):
        outlook = api.after_cleaning(
            history,
            fit,
            at_yr=seen.now_yr,
            method=method,
            limit_mm_h=LIMIT_MM_H,
            horizon_yr=HORIZON_YR,
            stay_yr=STAY_MONTHS / 12.0,
        )
        sight = _sight(seen, float(cleaning_cost(_terms(method), AREA_M2)), outlook.after_mm_h.median)
        found.append(Way(method, sight, outlook.years_until_limit, outlook.p_stays_above))
    return found


def _terms(method: CleaningMethod) -> Terms:
    start = DEFAULT_TERMS[method]
    return Terms(Decimal(start.cost_per_m2), Decimal(start.minimum_charge), start.output_m2_h)


def _sight(seen: api.SurfaceForecast, price: float, after_mm_h: float) -> Sight:
    return Sight(
        new_mm_h=float(seen.past.median[0]),
        now_mm_h=seen.rate_now_mm_h.median,
        limit_mm_h=LIMIT_MM_H,
        area_m2=AREA_M2,
        worth_m2_yr=BELOW_PRICE_M2_YR,
        loss_yr=seen.decline_percent_a_year.median / 100.0,
        chance_below=seen.p_below_now,
        price=price,
        after_mm_h=after_mm_h,
    )


def _record(seen: api.SurfaceForecast) -> DeclineRecord:
    tests = [
        MeasuredRate(_on(t), rate, Bound.EXACT, _(place), TestMethod.RING)
        for t, rates in ROUNDS
        for place, rate in zip(PLACES, rates, strict=True)
    ]
    levels = (WATCH_SHARE, LIKELY_SHARE, 1.0 - WATCH_SHARE)
    return DeclineRecord(
        past=_curve(seen.past),
        future=_curve(seen.future),
        below=tuple(float(p) for p in seen.p_below),
        tests=tuple(tests),
        rounds=tuple(RoundMean(_on(t), means_of(rates)[1]) for t, rates in ROUNDS),
        cleanings=(CleaningMark(_on(SWEPT_YR), CleaningMethod.VACUUM.label),),
        limit_mm_h=LIMIT_MM_H,
        reach=LimitReach(*(day_of(seen.first_reach_yr(level)) for level in levels)),
        today=_on(TODAY_YR),
    )


def _curve(curve: api.Curve) -> RateCurve:
    lines = (tuple(float(rate) for rate in line) for line in curve[1:])
    return RateCurve(tuple(_on(float(t)) for t in curve.t_yr), *lines)


def _on(t_yr: float) -> date:
    return OPENED_ON + timedelta(days=round(t_yr * DAYS_A_YEAR))
