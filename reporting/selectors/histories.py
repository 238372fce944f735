"""The record and the forecast of a surface as pieces of a snapshot."""

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from maintenance.calc.actions import Option
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.vocabulary import RecordKind
from maintenance.models import Forecast
from maintenance.presentation.cleanings import cleaning_details
from maintenance.presentation.wording import chart_title, forecast_sentence, kind_sentence
from maintenance.selectors.records import RecordItem, decline_record
from qa.models import Surface
from qa.selectors.inspections import findings_of, summary_of
from reporting.calc.parts import DeclinePart, ForecastPart, OptionPart, RecordLine
from reporting.calc.snapshots import Calculation, Comparison
from reporting.calc.values import Money, in_both
from reporting.selectors.findings import change_words, finding_parts, inspection_remarks


def record_lines(items: Iterable[RecordItem], audience: Audience) -> tuple[RecordLine, ...]:
    """The lines of a record, in the order given; those set aside only for who may see them."""
    return tuple(
        _line(item, audience)
        for item in items
        if item.row.is_active or audience.sees(Matter.SET_ASIDE_RECORDS)
    )


def _line(item: RecordItem, audience: Audience) -> RecordLine:
    row = item.row
    by = str(row.recorded_by) if row.recorded_by else ""
    shared: dict[str, Any] = {
        "key": row.pk,
        "kind": item.kind,
        "on": item.on,
        "by": audience.shown(Matter.PEOPLE, by, ""),
        "is_active": row.is_active,
        "state_word": str(row.get_state_display()),
        "state_reason": row.state_reason,
    }
    return RecordLine(**shared, **_OWN[item.kind](item, audience))


def _of_round(item: RecordItem, audience: Audience) -> dict[str, Any]:
    return {
        "title": _("{purpose} round").format(purpose=item.row.get_purpose_display()),  # type: ignore[union-attr]
        "spots": item.spots,
        "mean_mm_h": item.mean_mm_h,
        "bounded": item.bounded,
        "method": item.method_note,
        "others": tuple(item.others),
        "left_out": item.left_out,
    }


def _of_cleaning(item: RecordItem, audience: Audience) -> dict[str, Any]:
    row: Any = item.row
    cost = None if row.cost is None else Money(row.cost, row.currency)
    return {
        "title": str(row.get_method_display()),
        "share_of_area": row.share_of_area,
        "wetness": str(row.get_wetness_display()).lower(),
        "cost": audience.shown(Matter.PRICES, cost, None),
        "details": tuple(in_both(say) for say in cleaning_details(row, audience.sees(Matter.PEOPLE))),
        "gain": item.gain,
    }


def _of_inspection(item: RecordItem, audience: Audience) -> dict[str, Any]:
    row: Any = item.row
    return {
        "title": item.kind.label,
        "detail": summary_of(row),
        "remarks": inspection_remarks(row, row.surface),
        "findings": finding_parts(findings_of(row), audience),
    }


def _of_source(item: RecordItem, audience: Audience) -> dict[str, Any]:
    row: Any = item.row
    return {"title": str(row.get_kind_display()), "detail": change_words(row)}


_OWN: dict[RecordKind, Callable[[RecordItem, Audience], dict[str, Any]]] = {
    RecordKind.ROUND: _of_round,
    RecordKind.CLEANING: _of_cleaning,
    RecordKind.INSPECTION: _of_inspection,
    RecordKind.SOURCE: _of_source,
}


def forecast_part(
    surface: Surface, forecast: Forecast | None, items: Sequence[RecordItem]
) -> ForecastPart | None:
    """The forecast in figures, words and curves; None before the first, without curves where they cannot be read."""
    if forecast is None:
        return None
    outlook = forecast.outlook
    return ForecastPart(
        rate_now_mm_h=forecast.rate_now_mm_h,
        rate_low_mm_h=forecast.rate_low_mm_h,
        rate_high_mm_h=forecast.rate_high_mm_h,
        share_below_now=forecast.share_below_now,
        below_10_on=forecast.below_10_on,
        below_50_on=forecast.below_50_on,
        below_90_on=forecast.below_90_on,
        decline=_decline(surface, forecast, outlook, items) if outlook else None,
    )


def _decline(
    surface: Surface, forecast: Forecast, outlook: ForecastOutlook, items: Sequence[RecordItem]
) -> DeclinePart:
    return DeclinePart(
        title=chart_title(surface),
        summary=in_both(lambda units: forecast_sentence(surface, forecast, outlook, units)),
        kind=kind_sentence(forecast, outlook),
        record=decline_record(surface, forecast, outlook, items),
    )


def calculation_of(forecast: Forecast | None, audience: Audience) -> Calculation | None:
    """How the making of the forecast stands; None where there is none, or the reader may not know."""
    if forecast is None or not audience.sees(Matter.CALCULATION):
        return None
    is_stale, on_its_way = forecast.is_stale, forecast.is_on_its_way
    return Calculation(
        is_stale,
        forecast.is_of_another_edition,
        forecast.error,
        forecast.awaits_fit,
        is_being_made=on_its_way or (is_stale and not forecast.error),
    )


def comparison_of(surface: Surface, forecast: Forecast | None, audience: Audience) -> Comparison | None:
    """What each way of cleaning would give; None where there is nothing to compare, or the reader may not."""
    outlook = forecast.outlook if forecast else None
    if not outlook or not outlook.options or surface.opens_later or not audience.sees(Matter.COMPARISON):
        return None
    with_prices = audience.sees(Matter.COMPARED_PRICES)
    currency = surface.organisation.currency if with_prices else ""
    options = tuple(_option(option, currency) for option in outlook.options)
    return Comparison(outlook.options_on, options, with_prices)


def _option(option: Option, currency: str) -> OptionPart:
    """currency: empty where the reader may not know the prices."""
    return OptionPart(
        method=option.method,
        rate_after_mm_h=option.rate_after_mm_h,
        years_until_limit=option.years_until_limit,
        share_staying_above=option.share_staying_above,
        cost=_money(option.cost, currency),
        cost_per_year=_money(option.cost_per_year, currency),
    )


def _money(amount: Decimal | None, currency: str) -> Money | None:
    return Money(amount, currency) if amount and currency else None
