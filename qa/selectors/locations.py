"""Reading where the fixed test locations of a surface lie."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from qa.calc.outlines import Point
from qa.models import Location


def positions_of(locations: Iterable[Location]) -> dict[str, Point]:
    """Where locations lie, in metres, by name; those without a position are left out."""
    return {
        _("Location {label}").format(label=place.label): (place.x_m, place.y_m)
        for place in locations
        if place.x_m is not None and place.y_m is not None
    }
