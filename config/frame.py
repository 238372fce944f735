"""What every page's frame needs: the places to go, the firm acted for, the demo notice."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

PLACES = (
    ("todo", "To do", "maintenance:todo"),
    ("surfaces", "Surfaces", "maintenance:surface-list"),
    ("visits", "Visits", "maintenance:visit-list"),
    ("reports", "Reports", "maintenance:report-list"),
    ("firm", "Firm", "accounts:firm"),
)
OWNER_PLACES = (
    ("todo", "My sites", "maintenance:todo"),
    ("surfaces", "Surfaces", "maintenance:surface-list"),
    ("reports", "Reports", "maintenance:report-list"),
)
# Which place is lit for a route; anything else lights none.
LIT_BY = {
    "todo": "todo",
    "surfaces": (
        "surface site round test cleaning layer location owner construction check entry work file plan water "
        "gradation sieving handover"
    ),
    "visits": "visit crew task recommendation",
    "reports": "report fleet",
    "firm": "firm member invitation method me agreement rule own",
}


@dataclass(frozen=True, slots=True)
class NavItem:
    key: str
    label: str
    url: str
    current: bool


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context for base.html."""
    acting = getattr(request, "acting", None)
    return {
        "nav": _nav(request, acting),
        "acting": acting,
        "acting_organisation": acting.organisation if acting else None,
        "units": acting.units if acting else "si",
        "demo_notice": settings.DEMO_NOTICE,
    }


def _nav(request: HttpRequest, acting: Any) -> list[NavItem]:
    if acting is None or not request.user.is_authenticated:
        return []
    places = PLACES if acting.organisation else OWNER_PLACES
    lit = _lit(request)
    return [NavItem(key, label, reverse(name), key == lit) for key, label, name in places]


def _lit(request: HttpRequest) -> str:
    match = request.resolver_match
    noun = (match.url_name or "").split("-")[0] if match else ""
    return next((key for key, nouns in LIT_BY.items() if noun in nouns.split()), "")
