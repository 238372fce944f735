"""The record and the forecast of a surface as pieces of a snapshot."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from accounts.calc.audience import Audience, Matter
from core.calc.bounds import Bound
from core.calc.paving import CleaningMethod, TestMethod
from maintenance.calc.vocabulary import RecordKind
from maintenance.models import Forecast
from maintenance.presentation.wording import chart_title, forecast_sentence, kind_sentence
from maintenance.selectors.records import RecordItem, chart_record
from qa.models import Surface
from reporting.calc.parts import (
    ChartCleaning,
    ChartRound,
    ChartTest,
    CurvePart,
    DeclinePart,
    ForecastPart,
    GainPart,
    OptionPart,
    RecordLine,
)
from reporting.calc.snapshots import Calculation, Comparison
from reporting.calc.values import BoundedRate, Money, in_both


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
    own = _of_round(item) if item.kind is RecordKind.ROUND else _of_cleaning(item, audience)
    return RecordLine(**shared, **own)


def _of_round(item: RecordItem) -> dict[str, Any]:
    return {
        "title": f"{item.row.get_purpose_display()} round",  # type: ignore[union-attr]
        "spots": item.spots,
        "mean_mm_h": item.mean_mm_h,
        "bounded": item.bounded,
        "method": item.method_note,
        "others": tuple(item.others),
    }


def _of_cleaning(item: RecordItem, audience: Audience) -> dict[str, Any]:
    row: Any = item.row
    cost = None if row.cost is None else Money(row.cost, row.currency)
    return {
        "title": str(row.get_method_display()),
        "share_of_area": row.share_of_area,
        "wetness": str(row.get_wetness_display()).lower(),
        "cost": audience.shown(Matter.PRICES, cost, None),
        "gain": None if item.gain is None else _gain(item.gain),
    }


def _gain(gain: Mapping[str, Any]) -> GainPart:
    factor = gain["factor"]
    return GainPart(gain["measured_factor"], factor["median"], factor["lo80"], factor["hi80"])


def forecast_part(
    surface: Surface, forecast: Forecast | None, items: Sequence[RecordItem]
) -> ForecastPart | None:
    """The forecast in figures, words and curves; None before the first."""
    if forecast is None:
        return None
    return ForecastPart(
        rate_now_mm_h=forecast.rate_now_mm_h,
        rate_low_mm_h=forecast.rate_low_mm_h,
        rate_high_mm_h=forecast.rate_high_mm_h,
        share_below_now=forecast.share_below_now,
        alert_on=forecast.alert_on,
        even_on=forecast.even_on,
        late_on=forecast.late_on,
        decline=_decline(surface, forecast, items) if forecast.detail else None,
    )


def _decline(surface: Surface, forecast: Forecast, items: Sequence[RecordItem]) -> DeclinePart:
    record = chart_record(surface, forecast, items)
    return DeclinePart(
        title=chart_title(surface),
        summary=in_both(lambda units: forecast_sentence(surface, forecast, units)),
        kind=kind_sentence(forecast),
        past=_curve(record["past"]),
        future=_curve(record["future"]),
        below=tuple(record["future"]["below"]),
        tests=tuple(_chart_test(test) for test in record["tests"]),
        rounds=tuple(ChartRound(_day(r["on"]), r["mean_mm_h"]) for r in record["rounds"]),
        cleanings=tuple(ChartCleaning(_day(c["on"]), c["what"]) for c in record["cleanings"]),
        limit_mm_h=record["limit_mm_h"],
        alert_on=forecast.alert_on,
        even_on=forecast.even_on,
        late_on=forecast.late_on,
        today=_day(record["today"]),
    )


def _curve(curve: Mapping[str, Any]) -> CurvePart:
    rates = {name: tuple(curve[name]) for name in ("median", "lo80", "hi80", "lo95", "hi95")}
    return CurvePart(on=tuple(_day(on) for on in curve["on"]), **rates)


def _chart_test(test: Mapping[str, Any]) -> ChartTest:
    return ChartTest(
        _day(test["on"]),
        BoundedRate(test["rate_mm_h"], Bound(test["bound"])),
        test["place"],
        TestMethod(test["method"]),
    )


def _day(text: str) -> date:
    return date.fromisoformat(text)


def calculation_of(forecast: Forecast | None, audience: Audience) -> Calculation | None:
    """How the making of the forecast stands; None where there is none, or the reader may not know."""
    if forecast is None or not audience.sees(Matter.CALCULATION):
        return None
    return Calculation(forecast.is_stale, forecast.error)


def comparison_of(surface: Surface, forecast: Forecast | None, audience: Audience) -> Comparison | None:
    """What each way of cleaning would give; None where there is nothing to compare, or the reader may not."""
    detail = forecast.detail if forecast else None
    if not detail or not detail["options"] or surface.opens_later or not audience.sees(Matter.COMPARISON):
        return None
    with_prices = audience.sees(Matter.COMPARED_PRICES)
    currency = surface.organisation.currency if with_prices else ""
    return Comparison(
        on=_day(detail["options_on"]) if detail["options_on"] else None,
        options=tuple(_option(option, currency) for option in detail["options"]),
        with_prices=with_prices,
    )


def _option(option: Mapping[str, Any], currency: str) -> OptionPart:
    return OptionPart(
        method=CleaningMethod(option["method"]),
        rate_after_mm_h=option["rate_after_mm_h"],
        years_until_limit=option["years_until_limit"],
        share_staying_above=option["share_staying_above"],
        cost=_money(option["cost"], currency),
        cost_per_year=_money(option["cost_per_year"], currency),
    )


def _money(amount: str | None, currency: str) -> Money | None:
    return Money(Decimal(amount), currency) if amount and currency else None
