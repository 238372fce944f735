"""Why something is advised, worked through with the figures of its own surface."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from core.calc.format import (
    area_price,
    area_unit,
    day,
    figure,
    fixed,
    format_measure,
    format_rate,
    money,
    percent,
)
from core.calc.units import Quantity
from maintenance.calc.care_payload import CareComparison, CareKind
from maintenance.calc.costs import Terms
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.worked import Sight
from maintenance.models import Forecast, Recommendation


@dataclass(frozen=True, slots=True)
class Step:
    """One step: a question, how it is answered, and the answer."""

    title: str
    how: str
    result: str


@dataclass(frozen=True, slots=True)
class WhyPage:
    """Everything the page says."""

    steps: tuple[Step, ...]
    decision: str


@dataclass(frozen=True, slots=True)
class Told:
    """What the page is made from. terms: of the method advised, None where none is; worth: of a year within, a m²."""

    row: Recommendation
    forecast: Forecast
    outlook: ForecastOutlook
    terms: Terms | None
    worth: Decimal

    @property
    def currency(self) -> str:
        return self.row.currency

    @property
    def area_m2(self) -> float:
        return self.row.surface.area_m2

    @property
    def sight(self) -> Sight | None:
        """The arithmetic; None where no way of cleaning is advised."""
        grounds, now = self.row.grounds, self.forecast.rate_now_mm_h
        option = grounds.expected if grounds else None
        if option is None or not now or self.row.cost is None:
            return None
        return Sight(
            new_mm_h=self.outlook.past.median[0],
            now_mm_h=now,
            limit_mm_h=self.row.surface.limit_mm_h,
            area_m2=self.area_m2,
            worth_m2_yr=float(self.worth),
            loss_yr=(self.forecast.decline_percent_yr or 0.0) / 100.0,
            chance_below=self.forecast.share_below_now or 0.0,
            price=float(self.row.cost),
            after_mm_h=option.rate_after_mm_h,
        )


def why_page(told: Told, units: str) -> WhyPage:
    """The steps that the surface's own figures allow, and what they come to."""
    return WhyPage(tuple(_steps(told, units)), _decision(told))


def _steps(told: Told, units: str) -> Iterator[Step]:
    yield _standing(told, units)
    yield _falling(told)
    yield _worth(told, units)
    sight = told.sight
    if sight and told.terms:
        yield _price(told, told.terms, units)
        yield from _given(sight, units)
        yield from _holding(sight, told.currency)
    if told.outlook.care:
        yield from _programmes(told.outlook.care, told.currency)


def _standing(told: Told, units: str) -> Step:
    forecast, limit = told.forecast, told.row.surface.limit_mm_h
    low, high = (format_rate(rate, units) for rate in (forecast.rate_low_mm_h, forecast.rate_high_mm_h))
    return Step(
        _("Where does it stand?"),
        _(
            "From its tests and from others of its kind the rate is estimated at {rate}; the 80 % range is {low} to "
            "{high}. The limit is {limit}."
        ).format(
            rate=format_rate(forecast.rate_now_mm_h, units),
            low=low,
            high=high,
            limit=format_rate(limit, units),
        ),
        _("The chance that it is below its limit today is {chance}.").format(
            chance=percent(forecast.share_below_now)
        ),
    )


def _falling(told: Told) -> Step:
    forecast = told.forecast
    even = _("If nothing is done, an even chance of being below the limit is reached not within ten years.")
    if forecast.below_50_on:
        even = _("If nothing is done, an even chance of being below the limit is reached by {day}.").format(
            day=day(forecast.below_50_on)
        )
    return Step(
        _("How fast does it lose its rate?"),
        _("It is expected to lose {percent} % of its rate in the coming year.").format(
            percent=figure(forecast.decline_percent_yr)
        ),
        even,
    )


def _worth(told: Told, units: str) -> Step:
    year = float(told.worth) * told.area_m2
    chance = told.forecast.share_below_now or 0.0
    return Step(
        _("What is time below the limit worth avoiding?"),
        _(
            "{worth} a {unit} and year, times {area}, is {money} a year. Times today's chance of {chance}, for a "
            "quarter:"
        ).format(
            worth=area_price(told.worth, told.currency, units),
            unit=area_unit(units),
            area=format_measure(told.area_m2, Quantity.AREA, units),
            money=money(year, told.currency),
            chance=percent(chance),
        ),
        _("{money} in the coming quarter, and more as it declines.").format(
            money=money(chance * year / 4.0, told.currency)
        ),
    )


def _price(told: Told, terms: Terms, units: str) -> Step:
    by_area = float(terms.cost_per_m2) * told.area_m2
    least = float(terms.minimum_charge)
    price = float(told.row.cost or 0)
    said = _(
        "{price} a {unit} times {area} is {by_area}; the minimum charge is {minimum}, and the larger counts."
    ).format(
        price=area_price(terms.cost_per_m2, told.currency, units),
        unit=area_unit(units),
        area=format_measure(told.area_m2, Quantity.AREA, units),
        by_area=money(by_area, told.currency),
        minimum=money(least, told.currency),
    )
    if abs(max(by_area, least) - price) > 0.01:
        said = f"{said} {_('The prices were changed since this was advised.')}"
    return Step(_("What does the work cost?"), said, f"{money(price, told.currency)}.")


def _given(sight: Sight, units: str) -> Iterator[Step]:
    share = sight.share_restored
    if share is None:
        return
    new, now, after = (format_rate(r, units) for r in (sight.new_mm_h, sight.now_mm_h, sight.after_mm_h))
    yield Step(
        _("What does it give back?"),
        _(
            "As new it took {new}, now {now}, and after the work {after} is expected. Of what was lost that is "
            "ln({after} / {now}) over ln({new} / {now})."
        ).format(new=new, now=now, after=after),
        _("{share} of what was lost comes back.").format(share=percent(share)),
    )


def _holding(sight: Sight, currency: str) -> Iterator[Step]:
    holding, share = sight.holding_a_year, sight.share_restored
    if holding is None or share is None:
        return
    worked = (
        f"{money(sight.price, currency)} × {fixed(sight.decline_yr, 2)} / "
        f"({fixed(share, 2)} × {fixed(sight.headroom, 2)})"
    )
    yield Step(
        _("What does keeping it within the limit cost a year, about?"),
        _(
            "Price times decline over share restored times headroom: {worked}. Decline and headroom are natural "
            "logarithms: of the loss a year, and of the rate as new over the limit."
        ).format(worked=worked),
        _("About {holding} a year, against {below} for a year below.").format(
            holding=money(holding, currency), below=money(sight.year_below, currency)
        ),
    )


def _programmes(care: CareComparison, currency: str) -> Iterator[Step]:
    nothing, chosen = care.of(CareKind.NOTHING), care.chosen
    if nothing is None or nothing is chosen:
        return
    yield Step(
        _("What does that come to over ten years?"),
        _(
            "Carried out on {futures} futures drawn from what is known: doing nothing costs {nothing} with "
            "{nothing_months} months below a year, all of it time below the limit; the care suggested costs {care} "
            "with {care_months} months below, works and tests counted."
        ).format(
            futures=care.futures,
            nothing=money(nothing.total_10, currency),
            nothing_months=fixed(nothing.months_below, 1),
            care=money(chosen.total_10, currency),
            care_months=fixed(chosen.months_below, 1),
        ),
        _("Care saves {saved} over ten years, discounted.").format(
            saved=money(nothing.total_10 - chosen.total_10, currency)
        ),
    )


def _decision(told: Told) -> str:
    costs = float(told.row.waiting_costs)
    if told.row.is_agreed_only:
        return _("The agreement asks for it. The surface itself would not need it now.")
    if costs <= 0.0:
        return _("What waiting costs is not known in money here; the reasons above decide.")
    return _(
        "Waiting a quarter is expected to cost {costs} more than acting now, the price of the work counted, as carried "
        "out on those futures. That is why it is advised, and where it stands in the list."
    ).format(costs=money(costs, told.currency))
