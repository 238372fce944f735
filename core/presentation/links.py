"""Links that apps put on pages of the apps below them, so that no page names a route of an app above it."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _


@dataclass(frozen=True, slots=True)
class Link:
    """One link.

    label: in English, looked up where it is shown.

    of_row: the route takes the id of the page's row. query: follows the address, with {pk} for that id.
    least_role: who is offered it.
    """

    label: str
    route: str
    order: int = 0
    of_row: bool = False
    query: str = ""
    least_role: int = 0


_LINKS: dict[str, set[Link]] = defaultdict(set)


def offer_link(place: str, link: Link) -> None:
    """Put a link on the page that shows the links of `place`. Called when an app starts."""
    _LINKS[place].add(link)


def links_at(place: str, role: int, pk: Any = None) -> list[tuple[str, str]]:
    """Label and address of each link of a place that the role may follow, in their order."""
    offered = sorted(_LINKS[place], key=lambda link: (link.order, link.label))
    return [
        (_(link.label), reverse(link.route, args=[pk] if link.of_row else []) + link.query.format(pk=pk))
        for link in offered
        if role >= link.least_role
    ]
