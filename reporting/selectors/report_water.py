"""Where the rain of a period went at the surfaces of a site, by the rain record that the site names."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import figure, format_rate, format_short_length, percent
from core.errors import UnusableRecordError
from maintenance.calc.forecast_payload import RateCurve
from maintenance.models import Forecast
from qa.calc.rain import Reservoir
from qa.calc.rain_record import Fall, Span
from qa.calc.water_balance import (
    LEAST,
    MIDDLE,
    MOST,
    SHOWER_APART_H,
    Assumed,
    RainRow,
    RateOverTime,
    WaterBalance,
    by_the_hour,
    clipped,
    covered_days,
    rows_of,
    water_balance,
)
from qa.models import RainRecord, Site, Surface
from qa.selectors.rain_records import KnownRain
from qa.selectors.water import Store, store_of
from reporting.calc.report_parts import Volume, WaterPart
from reporting.calc.values import UnitText, in_both

LONG_ROW_H, HOUR = 1.0, timedelta(hours=1)
NO_STONE = gettext_noop(
    "No layer of stone with its porosity is recorded, so what the build-up holds is not known."
)
NO_SOIL = gettext_noop("The rate of the soil below is not recorded, so what soaks away is not known.")
NO_RAIN = gettext_noop("The rain record {record} holds nothing of this time.")


@dataclass(frozen=True)
class RainOfPeriod:
    """A site's rain record over a period, read once for all its surfaces. within: the period as instants in UTC."""

    record: RainRecord
    within: Span
    falls: Sequence[Fall]
    covers: Sequence[Span]

    @cached_property
    def rows(self) -> list[RainRow]:
        """Its falls in hours from its beginning."""
        return rows_of(self.falls, self.within.begins)


def rain_of_period(site: Site, since: date) -> RainOfPeriod | None:
    """What the site's rain record tells of the period until today; None where the site has none."""
    record = site.rain_record
    if record is None:
        return None
    within = Span(_midnight(since, site), _midnight(site.today(), site))
    if within.begins >= within.ends:
        return None
    known = KnownRain(record, within)
    return RainOfPeriod(record, within, by_the_hour(clipped(known.falls, within)), known.covers)


def _midnight(day: date, site: Site) -> datetime:
    return datetime.combine(day, time(), tzinfo=ZoneInfo(site.time_zone)).astimezone(UTC)


def water_part(surface: Surface, forecast: Forecast | None, rain: RainOfPeriod | None) -> WaterPart | None:
    """Where the rain went at one surface; None where no rain record is named, or it opened after the period."""
    if rain is None:
        return None
    begins = max(rain.within.begins, _midnight(surface.opened_on, surface.site))
    if begins >= rain.within.ends:
        return None
    seen = rain if begins == rain.within.begins else _since(rain, begins)
    days = round((seen.within.ends - begins) / timedelta(days=1))
    part = WaterPart(seen.record.name, covered_days(seen.covers, seen.within), days)
    if not part.covered_days:
        return replace(part, problem=_(NO_RAIN).format(record=seen.record.name))
    try:
        return _estimated(part, surface, forecast, seen)
    except UnusableRecordError as error:
        return replace(part, problem=str(error))


def _since(rain: RainOfPeriod, begins: datetime) -> RainOfPeriod:
    within = Span(begins, rain.within.ends)
    return replace(rain, within=within, falls=clipped(rain.falls, within))


def _estimated(part: WaterPart, surface: Surface, forecast: Forecast | None, rain: RainOfPeriod) -> WaterPart:
    store = store_of(surface, list(surface.layers.all()))
    if store is None:
        return replace(part, problem=_(NO_STONE))
    if store.soil_rate_mm_h is None:
        return replace(part, problem=_(NO_SOIL))
    rows = rain.rows
    outlook = forecast.outlook if forecast else None
    past = outlook.past if outlook else None
    ends_h = (rain.within.ends - rain.within.begins) / HOUR
    cases = [_balance(surface, store, rows, ends_h, *case) for case in _cases(past, rain, surface.site)]
    return replace(
        part,
        rain_mm=sum(row.depth_mm for row in rows),
        came=_volume(cases, lambda case: case.came, surface),
        ground=_volume(cases, lambda case: case.ground + case.standing, surface),
        kept=_volume(cases, lambda case: case.kept, surface) if store.reuse_mm else None,
        ran_off=_volume(cases, lambda case: case.ran_off, surface),
        lost=_volume(cases, lambda case: case.lost, surface),
        how=tuple(_how(surface, store, rows, past)),
        by_record=in_both(lambda units: _soil(store, units)),
    )


Case = tuple[Assumed, RateOverTime | None]


def _cases(past: RateCurve | None, rain: RainOfPeriod, site: Site) -> tuple[Case, Case, Case]:
    """The least, the middle and the most that the ground takes."""
    if past is None:
        return (LEAST, None), (MIDDLE, None), (MOST, None)
    at_h = [(_midnight(day, site) - rain.within.begins) / HOUR for day in past.on]
    return (
        (LEAST, RateOverTime(at_h, past.lo80)),
        (MIDDLE, RateOverTime(at_h, past.median)),
        (MOST, RateOverTime(at_h, past.hi80)),
    )


def _balance(
    surface: Surface,
    store: Store,
    rows: Sequence[RainRow],
    ends_h: float,
    assumed: Assumed,
    rate_at: RateOverTime | None,
) -> WaterBalance:
    stone = Reservoir(store.below_mm, store.soil_rate_mm_h or 0.0, store.reuse_mm, has_pipe=store.has_pipe)
    return water_balance(rows, surface.run_on_ratio, stone, assumed, rate_at, ends_h)


def _volume(cases: Iterable[WaterBalance], of: Callable[[WaterBalance], float], surface: Surface) -> Volume:
    low, middle, high = (of(case) * surface.area_m2 / 1000 for case in cases)
    return Volume(min(low, middle, high), middle, max(low, middle, high))


def _how(
    surface: Surface, store: Store, rows: Sequence[RainRow], past: RateCurve | None
) -> Iterable[UnitText]:
    yield in_both(_said_first)
    if surface.run_on_area_m2:
        yield in_both(
            lambda units: _(
                "Of the ground that drains on to it, {low} to {high} of its rain reaches it (runoff coefficient, "
                "common practice)."
            ).format(low=percent(LEAST.run_off_share), high=percent(MOST.run_off_share))
        )
    yield in_both(_wetting)
    if past is None:
        yield in_both(
            lambda units: _("There is no forecast yet, so the surface is taken to let all of it in.")
        )
    else:
        yield in_both(
            lambda units: _(
                "What the surface takes in is the estimate of its rate on that day, with its 80 % range."
            )
        )
    if any(row.lasts_h > LONG_ROW_H for row in rows):
        yield in_both(_long_rows)
    if store.reuse_mm:
        yield in_both(_reuse)
    yield in_both(lambda units: _("Evaporation from the stone is not taken off."))


def _said_first(_units: str) -> str:
    return _(
        "A mass balance, row by row of the rain record: rain on the surface and what runs on to it, less what wets the "
        "ground, less what the surface or a full build-up does not take."
    )


def _wetting(units: str) -> str:
    low, high = (format_short_length(case.wetting_mm, units) for case in (MOST, LEAST))
    return _(
        "Of each shower {low} to {high} only wet the ground (after {hours} dry hours; common practice, no source)."
    ).format(low=low, high=high, hours=figure(SHOWER_APART_H))


def _long_rows(_units: str) -> str:
    return _(
        "Rows of the record stand for more than an hour; their rain is taken to have fallen within {low} to {high} "
        "hours (assumed)."
    ).format(low=figure(LEAST.rain_within_h), high=figure(MOST.rain_within_h))


def _soil(store: Store, units: str) -> str:
    if store.lined:
        return _("A liner lies below the stone: nothing soaks into the ground.")
    said = _("The soil takes {rate} by the record; the stone holds {depth} of water.")
    if store.has_pipe:
        said = _("The soil takes {rate} by the record; the stone holds {depth} of water below its overflow.")
    return said.format(
        rate=format_rate(store.soil_rate_mm_h, units), depth=format_short_length(store.below_mm, units)
    )


def _reuse(_units: str) -> str:
    return _(
        "What rises to the overflow fills the store for irrigation, which is taken to be emptied in {low} to {high} "
        "days (assumed)."
    ).format(low=figure(MOST.reuse_lasts_h / 24), high=figure(LEAST.reuse_lasts_h / 24))
