"""Lists: sortable, and exported as they stand."""

from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.format import NOTHING, day, percent
from core.calc.units import Quantity
from core.presentation.measures import measure
from core.presentation.tables import NUM, NullsLastColumn
from maintenance.calc.vocabulary import SurfaceState
from qa.models import Surface

# What the list shows, and no more: with each forecast lie curves that are a thousand times as long.
LISTED = (
    "name",
    "surface_type",
    "area_m2",
    "limit_mm_h",
    "opened_on",
    "site__name",
    "site__time_zone",
    "forecast__surface_state",
    "forecast__rate_now_mm_h",
    "forecast__share_below_now",
    "forecast__below_50_on",
)

# Where the columns have no room side by side, a row begins with what it is, how it stands and where it lies.
WHAT, STATE = {"td": {"class": "row__what"}}, {"td": {"class": "row__state"}}
SITE, KIND = {"td": {"class": "row__site"}}, {"td": {"class": "row__kind"}}
SIZE = NUM | {"td": {"class": "num row__size"}}
RATE, BY = NUM | {"td": {"class": "num row__rate"}}, {"td": {"class": "row__by"}}


def state_of(surface: Surface) -> str:
    """The stored state; a surface whose forecast is still to be made counts as not tested."""
    forecast = getattr(surface, "forecast", None)
    return forecast.surface_state if forecast else SurfaceState.NOT_TESTED.value


class MeasureColumn(NullsLastColumn):
    """A stored SI value, shown in the person's units."""

    def __init__(self, quantity: Quantity, **kwargs: Any) -> None:
        super().__init__(**{"attrs": NUM} | kwargs)
        self.quantity = quantity

    def render(self, value: float, table: "SurfaceTable") -> SafeString | str:
        return measure(value, self.quantity, table.units)


class ForecastRateColumn(MeasureColumn):
    """The rate of today, which a surface that is not open yet does not have."""

    def render(self, value: float, table: "SurfaceTable", record: Surface) -> SafeString | str:  # type: ignore[override]
        if record.opens_later:
            return _("opens {day}").format(day=day(record.opened_on))
        return super().render(value, table)


class SurfaceTable(tables.Table):
    """Surfaces with where they stand. Expects LISTED of them, with site and forecast joined."""

    name = tables.Column(_lazy("Surface"), linkify=lambda record: record.get_absolute_url(), attrs=WHAT)
    site = tables.Column(
        _lazy("Site"),
        accessor="site__name",
        order_by=("site__name",),
        linkify=lambda record: record.site.get_absolute_url(),
        attrs=SITE,
    )
    surface_type = tables.Column(_lazy("Type"), attrs=KIND)
    area_m2 = MeasureColumn(Quantity.AREA, verbose_name=_lazy("Area"), accessor="area_m2", attrs=SIZE)
    state = tables.Column(_lazy("State"), accessor="forecast__surface_state", empty_values=(), attrs=STATE)
    rate = ForecastRateColumn(
        Quantity.RATE,
        verbose_name=_lazy("Rate now, estimated"),
        accessor="forecast__rate_now_mm_h",
        attrs=RATE,
    )
    limit_mm_h = MeasureColumn(Quantity.RATE, verbose_name=_lazy("Limit"), accessor="limit_mm_h")
    below = NullsLastColumn(_lazy("Chance below limit"), accessor="forecast__share_below_now", attrs=NUM)
    below_50_on = NullsLastColumn(_lazy("Likely at the limit by"), accessor="forecast__below_50_on", attrs=BY)

    class Meta:
        model = Surface
        attrs = {"class": "table--rows"}
        fields = (
            "name",
            "site",
            "surface_type",
            "area_m2",
            "state",
            "rate",
            "limit_mm_h",
            "below",
            "below_50_on",
        )
        sequence = fields
        order_by = ("-below",)
        empty_text = _lazy("No surface fits. Take a filter off, or register a surface from its site's page.")

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.units = units
        self.marks: dict[str, SafeString] = {}

    def render_state(self, record: Surface) -> SafeString:
        state = state_of(record)
        if state not in self.marks:
            self.marks[state] = mark_safe(render_to_string("parts/_status.html", {"state": state}))
        return self.marks[state]

    def render_below(self, value: float, record: Surface) -> str:
        return NOTHING if record.opens_later else percent(value)

    def render_below_50_on(self, value: Any) -> str:
        return day(value) if value else NOTHING
