"""What care is worth its money at a surface: prices, seasons and value gathered, programmes compared."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
from django.conf import settings

from accounts.models import Organisation
from clogging import api
from core.calc.paving import CleaningMethod
from maintenance.calc.actions import AgreedCare
from maintenance.calc.care_payload import CareComparison
from maintenance.calc.costs import CENT, Terms, cleaning_cost, hours_needed, round_cost
from maintenance.calc.deciding import compiled
from maintenance.calc.deciding.compare import Surroundings, compare, frontier_table, level_of_chosen
from maintenance.calc.deciding.outlook import Acting, ComingYear, coming_year
from maintenance.calc.deciding.problem import Case, Mask, Prices
from maintenance.calc.deciding.rollout import Rollout
from maintenance.calc.deciding.seasons import steps_of, unfrozen_months, workable_months
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.suitability import suited_methods
from maintenance.calc.windows import Climate
from maintenance.models import MethodTerms
from maintenance.selectors.histories import Recorded, years_of
from qa.models import Surface

LUCK = 0  # the same for every surface, so that two with the same record get the same advice
STEPS_A_YEAR = 4
METHODS = tuple(CleaningMethod(name) for name in api.CLEANING_METHODS)


@dataclass(frozen=True, slots=True)
class Care:
    """What one surface needs, and the programmes that were compared for it."""

    needs: Needs
    comparison: CareComparison


@dataclass(frozen=True, slots=True)
class Day:
    """A surface on the day it is thought through. now_yr: since opening; last_tested_on: None for never."""

    today: date
    now_yr: float
    last_tested_on: date | None
    agreed: AgreedCare
    has_source: bool


@dataclass(frozen=True, slots=True)
class _Site:
    """Prices, hours and seasons of one surface."""

    case: Case
    prices: dict[CleaningMethod, Decimal]
    hours: dict[CleaningMethod, float]
    months: Mask


def below_price_m2_yr(surface: Surface) -> Decimal:
    """What a year below the limit is worth avoiding, a square metre: by the site, else its owner, else the firm."""
    site = surface.site
    for price in (site.below_price_m2_yr, site.owner.below_price_m2_yr):
        if price is not None:
            return price
    return surface.organisation.below_price_m2_yr


def climate_of(surface: Surface) -> Climate:
    """What the calendar does at a surface."""
    site = surface.site
    return Climate(site.frost_months, site.leaf_fall_months, surface.trees, surface.winter_grit)


def care_of(recorded: Recorded, fit: api.PortfolioFit, terms: dict[CleaningMethod, Terms], day: Day) -> Care:
    """Programmes of care compared for one surface, and what it needs within the coming year.

    terms: of the methods the firm offers. Raises UnusableRecordError for a record that cannot be.
    """
    surface = recorded.surface
    compiled.note_surface()
    site = _site(surface, terms)
    known, drawn = api.known_and_drawn(
        [recorded.history],
        fit,
        now_yr=[day.now_yr],
        n_draws=settings.CARE_FUTURES,
        rng=np.random.default_rng(LUCK),
    )
    table = frontier_table(known, site.case)
    since = _since_test(surface, day)
    month = day.today.month
    around = Surroundings(
        surface.area_m2,
        float(below_price_m2_yr(surface)),
        since,
        (month - 1) * STEPS_A_YEAR // 12,
        (day.agreed.cleanings_per_year, day.agreed.tests_per_year),
        day.has_source,
        LUCK,
    )
    comparison = compare(known, drawn, site.case, table, around)
    level = level_of_chosen(comparison)
    ahead = Rollout(known, drawn, site.case, table, around, comparison.chosen.programme, level)
    year = coming_year(
        known,
        site.case,
        table,
        site.months,
        month=month,
        since_test_yr=since,
        savings=ahead.savings,
        level=level,
    )
    return Care(_needs(surface, day, site, comparison, year), comparison)


def _since_test(surface: Surface, day: Day) -> float:
    if day.last_tested_on is None:
        return float("inf")
    return max(0.0, day.now_yr - years_of(surface, day.last_tested_on))


def plain_terms(row: MethodTerms) -> Terms:
    """The stored terms as the cost formulas take them."""
    return Terms(row.cost_per_m2, row.minimum_charge, row.output_m2_h, row.foot_after_h, row.vehicles_after_h)


def terms_of_method(organisation: Organisation, method: str) -> Terms | None:
    """What a firm charges for a method; None where it has no terms of it."""
    row = MethodTerms.objects.of_organisation(organisation).filter(method=method).first()
    return plain_terms(row) if row else None


def offered_terms(rows: dict[str, MethodTerms]) -> dict[CleaningMethod, Terms]:
    """The terms of what a firm offers, as the formulas take them."""
    return {CleaningMethod(key): plain_terms(row) for key, row in rows.items() if row.offered}


def _site(surface: Surface, terms: dict[CleaningMethod, Terms]) -> _Site:
    area, climate = surface.area_m2, climate_of(surface)
    offered = [m for m in suited_methods(surface.surface_type) if m in terms]
    prices = {m: cleaning_cost(terms[m], area) for m in offered}
    hours = {m: hours_needed(terms[m], area) for m in offered}
    months = np.zeros((len(METHODS), 12), dtype=bool)
    cost = np.full((len(METHODS), 1), np.inf)
    for method in offered:
        at = METHODS.index(method)
        months[at] = workable_months(method, climate, hours[method])
        cost[at] = float(prices[method])
    firm = surface.organisation
    below = np.array([area * float(below_price_m2_yr(surface))])
    test = np.array([float(round_cost(firm.test_visit_price, area))])
    steps = np.stack([steps_of(row, STEPS_A_YEAR) for row in months])[..., None]
    testable = steps_of(unfrozen_months(climate.frost_months), STEPS_A_YEAR)[:, None]
    money = Prices(cost, test, below, np.array([float(firm.fresh_test_above)]))
    case = Case(np.log([surface.limit_mm_h]), money, steps, testable)
    return _Site(case, prices, hours, months)


def _needs(surface: Surface, day: Day, site: _Site, compared: CareComparison, year: ComingYear) -> Needs:
    firm = surface.organisation
    needs = Needs(
        currency=firm.currency,
        year_below=_cents(float(site.case.prices.below[0])),
        ask_first=firm.fresh_test_above,
        test_saves=None if compared.test_saves is None else _cents(compared.test_saves),
        acts_below_mm_h=compared.acts_below_mm_h,
        nearest=_rival(year.today[0], site) if year.today else None,
        source_saves=None if compared.source_saves is None else _cents(compared.source_saves),
    )
    test_on = None if year.test_months is None else months_on(day.today, year.test_months)
    return replace(needs, test_on=test_on, cleaning=_cleaning(day, site, year.cleaning))


def _cleaning(day: Day, site: _Site, acting: Acting | None) -> CleaningNeed | None:
    if acting is None:
        return None
    best, *rest = (_rival(each, site) for each in acting.rivals)
    on = months_on(day.today, acting.months)
    hours = site.hours[best.method]
    return CleaningNeed(on, best, acting.chance, tuple(rest), hours, acting.wants_fresh_test)


def months_on(today: date, months: int) -> date:
    """Today, or the first of the month so many months on."""
    if months == 0:
        return today
    year, month = divmod(today.month - 1 + months, 12)
    return date(today.year + year, month + 1, 1)


def _rival(found: tuple[CleaningMethod, float], site: _Site) -> Rival:
    method, saves = found
    return Rival(method, site.prices[method], _cents(saves))


def _cents(amount: float) -> Decimal:
    return Decimal(repr(float(amount))).quantize(CENT, ROUND_HALF_UP)
