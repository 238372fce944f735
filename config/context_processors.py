"""What every page's frame needs: the places to go, the firm acted for, the demo notice."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from accounts.selectors.notices import unread_count
from fieldwork.presentation.queued import queued_form

PLACES = (
    ("todo", gettext_noop("To do"), "reporting:start"),
    ("surfaces", gettext_noop("Surfaces"), "maintenance:surface-list"),
    ("visits", gettext_noop("Visits"), "planning:visit-list"),
    ("reports", gettext_noop("Reports"), "reporting:report-list"),
    ("firm", gettext_noop("Firm"), "accounts:firm"),
)
OWNER_PLACES = (
    ("todo", gettext_noop("My sites"), "reporting:start"),
    ("surfaces", gettext_noop("Surfaces"), "maintenance:surface-list"),
    ("reports", gettext_noop("Reports"), "reporting:report-list"),
)
# Which place is lit for a route; anything else lights none.
LIT_BY = {
    "todo": "todo start search recommendation advice release budget due quote cost handbook",
    "surfaces": (
        "surface site round test stage cleaning layer location owner construction check entry work file plan water "
        "gradation sieving handover soil inspection finding remedy source training care rain message"
    ),
    "visits": "visit crew task learning proposal absence day calendar feed field phone",
    "reports": "report portfolio calibration fit kept link sending inspector",
    "firm": "firm member invitation method price me agreement rule own reference import export restore token docs job "
    "notice trail",
}


@dataclass(frozen=True, slots=True)
class NavItem:
    key: str
    label: str
    url: str
    current: bool


def navigation(request: HttpRequest) -> dict[str, Any]:
    """Context for base.html."""
    current = getattr(request, "current", None)
    nav = _nav(request, current)
    return {
        "nav": nav,
        "places": {item.key: item.url for item in nav},
        "current": current,
        "current_organisation": current.organisation if current else None,
        "units": current.units if current else "si",
        "demo_notice": _(settings.DEMO_NOTICE) if settings.DEMO_NOTICE else "",
        "queued": queued_form(request),
        "told_count": unread_count(request.user) if nav and isinstance(request.user, User) else 0,
        "search_url": reverse("reporting:search-show") if nav else "",
        "phone_url": reverse("fieldwork:phone-show") if current and current.can_record else "",
    }


def _nav(request: HttpRequest, current: Any) -> list[NavItem]:
    if current is None or not request.user.is_authenticated:
        return []
    places = PLACES if current.organisation else OWNER_PLACES
    lit = _lit(request)
    return [NavItem(key, _(label), reverse(name), key == lit) for key, label, name in places]


def _lit(request: HttpRequest) -> str:
    match = request.resolver_match
    noun = (match.url_name or "").split("-")[0] if match else ""
    return next((key for key, nouns in LIT_BY.items() if noun in nouns.split()), "")
