"""Addresses at which calendar programs read visits, and what they read there."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.http import require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from accounts.views.secret_addresses import UnknownSecretError, by_secret
from core.calc.devices import device_kind
from planning.models import CalendarFeed, Crew
from planning.presentation.feeds import feed_text
from planning.selectors.feeds import FeedPlace, events_of, feed_of, places_of
from planning.services import feeds
from qa.selectors.days import firm_zone


@login_required
@require_safe
def feed_list(request: PersonRequest) -> HttpResponse:
    organisation, crews = request.current.organisation, None
    if organisation is not None and request.current.can_plan:
        rows = Crew.objects.for_user(request.user, Role.COORDINATOR).of_organisation(organisation)
        crews = rows.filter(retired=False).select_related("feed")
    zone = firm_zone(organisation) if organisation is not None else None
    context = {"places": places_of(request.user), "crews": crews, "zone": zone}
    return render(request, "planning/feed_list.html", context)


@login_required
@require_POST
def own_feed_make(request: PersonRequest) -> HttpResponse:
    place = _place(request)
    made = feeds.make_feed(whose=place.whose, by=request.user)
    return _shown_once(request, made, place.name)


@login_required
@require_POST
def own_feed_revoke(request: PersonRequest) -> HttpResponse:
    place = _place(request)
    feeds.revoke_feed(whose=place.whose)
    messages.success(request, _ended(place.name))
    return redirect("planning:feed-list")


def _ended(whose: object) -> str:
    return _("The address for {whose} has ended. Calendars that read it find nothing.").format(whose=whose)


def _place(request: PersonRequest) -> FeedPlace:
    """The one that is named, or the first of where the person acts; never somebody else's."""
    places = places_of(request.user)
    named = request.POST.get("place")
    here = [place for place in places if place.key == named] if named else places
    if named and not here:
        raise Http404("No such place of this person.")
    if not here:
        raise PermissionDenied(
            _("There are no visits to show you: you belong to no firm and read for no owner.")
        )
    return here[0]


@login_required
@require_POST
def crew_feed_make(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.COORDINATOR, pk=pk)
    return _shown_once(request, feeds.make_feed(whose=crew, by=request.user), str(crew))


@login_required
@require_POST
def crew_feed_revoke(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.COORDINATOR, pk=pk)
    feeds.revoke_feed(whose=crew)
    messages.success(request, _ended(crew))
    return redirect("planning:feed-list")


def _shown_once(request: PersonRequest, made: feeds.MadeFeed, name: str) -> HttpResponse:
    """The page itself answers, since the secret must not lie in a session or a message until the next one."""
    address = request.build_absolute_uri(reverse("planning:feed-show", args=[made.secret]))
    return render(request, "planning/feed_made.html", {"address": address, "name": name})


@require_safe
@by_secret
def feed_show(request: HttpRequest, secret: str) -> HttpResponse:
    """Open to strangers: the secret is the permission."""
    feed = feed_of(secret)
    if feed is None:
        raise UnknownSecretError(_("There is no calendar at this address."))
    with override(feed.language):
        text = _text(request, feed)
    if request.method == "GET":
        feeds.note_read(feed=feed, device=device_kind(request.headers.get("User-Agent", "")))
    answer = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    answer.headers["Cache-Control"] = "private, max-age=300"
    answer.headers["Content-Disposition"] = 'inline; filename="visits.ics"'
    return answer


def _text(request: HttpRequest, feed: CalendarFeed) -> bytes:
    """The calendar, in the language of whose feed it is: no program says which one its reader reads."""
    events = events_of(feed, request.build_absolute_uri, reverse("planning:calendar-show"))
    whose = feed.crew or (feed.reader and feed.reader.owner) or feed.organisation
    return feed_text(_("Visits: {whose}").format(whose=whose), events, of_firm=feed.reader is None)
