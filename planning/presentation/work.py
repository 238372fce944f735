"""The first page's list of work: trips as lines of words and figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import day, figure, money, price
from core.presentation.figures import Figure
from maintenance.calc.text import speak
from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import Recommendation
from maintenance.models.recommendations import action_words
from planning.selectors.quotes import approval_of_row
from planning.selectors.work import Totals, Trip, Work
from qa.models import Surface

SOON_DAYS = 30


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece of advice within a trip. tags: word and look, what was decided or shown."""

    row: Recommendation
    surface: Surface
    state: str
    why: str
    price: str
    waiting: str
    tags: Sequence[tuple[str, str]]
    also: Sequence[Recommendation]


@dataclass(frozen=True, slots=True)
class TripLine:
    """One row of the list. mark: how it stands to its day; place: the surface, or the site of several.

    pieces: of a list of several sites the first few; count: how many there are; rest_url: the list of this site alone,
    which has all of them, empty where none is left out
    """

    key: str
    title: str
    place: str
    url: str
    mark: str
    due_on: date
    today: date
    price: str
    waiting: str
    hours: str
    pieces: Sequence[PieceLine]
    count: int
    rest_url: str
    is_open: bool

    @property
    def first(self) -> PieceLine:
        """The piece that counts most."""
        return self.pieces[0]

    @property
    def is_of_one(self) -> bool:
        """Whether it is of one surface alone."""
        return self.count == 1


def trip_lines(found: Work, units: str, shown: str) -> list[TripLine]:
    """The rows of one page. shown: the decision asked for, which the list of one site keeps to."""
    return [_trip_line(trip, units, shown) for trip in found.trips]


def _trip_line(trip: Trip, units: str, shown: str) -> TripLine:
    first, currency = trip.rows[0], trip.rows[0].currency
    alone = trip.count == 1
    place: Any = first.surface if alone else trip.site
    today = trip.site.today()
    return TripLine(
        key=trip.key,
        title=_title(trip),
        place=str(place) if alone else _several(trip.count, place),
        url=place.get_absolute_url(),
        mark=_mark((trip.due_on - today).days),
        due_on=trip.due_on,
        today=today,
        price=price(trip.cost, currency) if trip.cost else "",
        waiting=_money(trip.waiting_costs, currency),
        hours=figure(trip.crew_hours) if trip.crew_hours else "",
        pieces=[_piece(row, trip.also.get(row.surface_id, ()), units) for row in trip.rows],
        count=trip.count,
        rest_url=_rest_url(trip, shown),
        is_open=all(row.can_be_decided for row in trip.rows),
    )


def _rest_url(trip: Trip, shown: str) -> str:
    if trip.count == len(trip.rows):
        return ""
    return f"?{urlencode({'site': trip.site.pk, 'shown': shown})}"


def _several(number: int, site: object) -> str:
    said = ngettext("{count} surface at {site}", "{count} surfaces at {site}", number)
    return said.format(count=number, site=site)


def _title(trip: Trip) -> str:
    """With the way of cleaning where all surfaces of the trip take the same."""
    return action_words(trip.action, min(trip.methods) if len(trip.methods) == 1 else "")


def _mark(days: int) -> str:
    if days <= 0:
        return "todo--late"
    return "todo--soon" if days <= SOON_DAYS else ""


def _piece(row: Recommendation, also: Sequence[Recommendation], units: str) -> PieceLine:
    forecast = getattr(row.surface, "forecast", None)
    return PieceLine(
        row=row,
        surface=row.surface,
        state=forecast.surface_state if forecast else SurfaceState.NOT_TESTED.value,
        why=speak(row.returned_because or row.reasons[0], units),
        price=price(row.cost, row.currency) if row.cost else "",
        waiting=_money(row.waiting_costs, row.currency),
        tags=list(_tags(row)),
        also=also,
    )


def _tags(row: Recommendation) -> Sequence[tuple[str, str]]:
    releases = row.shown_now  # type: ignore[attr-defined]  # as prefetched by the selector
    found = []
    if row.is_agreed_only:
        found.append((_("agreed, not needed now"), ""))
    if row.is_put_off:
        found.append((_("put off until {day}").format(day=day(row.put_off_until)), ""))
    elif not row.is_open:
        found.append((row.get_status_display().lower(), "tag--good"))
    if row.returned_because:
        found.append((_("returned"), "tag--warn"))
    if releases:
        changed = releases[0].differs_since is not None
        found.append(
            (_("changed since its release"), "tag--warn") if changed else (_("released"), "tag--good")
        )
    return [*found, *approval_tags(row)]


def approval_tags(row: Recommendation) -> list[tuple[str, str]]:
    """Whether the owner approved it, or has to. Expects rows of `with_approval`."""
    state = approval_of_row(row)
    return [(state.label, state.look)] if state.label else []


def _money(amount: Decimal | None, currency: str) -> str:
    return money(float(amount), currency) if amount else ""


def total_figures(totals: Totals, currency: str) -> list[Figure]:
    """What everything asked for comes to."""
    advice = ngettext("{count} piece of advice", "{count} pieces of advice", totals.pieces)
    return [
        Figure(_("Surfaces"), str(totals.surfaces), advice.format(count=totals.pieces)),
        Figure(
            _("Waiting costs a quarter"),
            money(float(totals.waiting_costs), currency),
            _("if all of it waits"),
            term="waiting",
        ),
        Figure(_("Price of the work"), price(totals.cost, currency), ""),
        Figure(
            _("Crew hours"),
            figure(totals.crew_hours),
            _("on site, without the way there"),
            term="crew_hours",
        ),
    ]
