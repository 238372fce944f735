"""Where fixed test spots lie, for who has to find them again: in words, with a tape from two corners."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import format_measure
from core.calc.payload import UNREADABLE
from core.calc.units import Quantity
from core.errors import UnreadablePayloadError
from qa.calc.finding_spots import FromCorner, from_corners
from qa.calc.outlines import Point
from qa.models import Attachment, Location, Outline, Surface
from qa.presentation.plan import plan_picture
from qa.presentation.section import Picture
from qa.selectors.spot_photos import last_photos

NOT_PLACED = gettext_noop("no place on the plan yet")
NO_CORNERS = gettext_noop("too near to a side to be placed by a tape: see the plan")
NO_PLAN = gettext_noop("no plan yet")


@dataclass(frozen=True, slots=True)
class SpotPlace:
    """A fixed spot. key: of its row; where: how it is found; photos: how the ring sat when it was last tested."""

    key: str
    label: str
    zone: str
    where: str
    photos: Sequence[Attachment] = ()


@dataclass(frozen=True, slots=True)
class SpotsFound:
    """The spots of a surface and its plan with numbered corners. svg: empty without an outline."""

    picture: Picture
    places: tuple[SpotPlace, ...]


def spots_found(surface: Surface, units: str) -> SpotsFound:
    """The spots of a surface, and its plan with numbered corners."""
    photos = last_photos(surface)
    places = (replace(each, photos=photos.get(UUID(each.key), ())) for each in places_of(surface, units))
    return SpotsFound(plan_picture(surface, units, numbered=True), tuple(places))


def places_of(surface: Surface, units: str) -> tuple[SpotPlace, ...]:
    """Every spot that is still tested, in the order of their labels."""
    outline, problem = _outline_of(surface)
    return tuple(
        SpotPlace(
            str(place.pk), place.label, place.get_zone_display(), problem or where_of(place, outline, units)
        )
        for place in surface.locations.filter(retired=False)
    )


def where_of(place: Location, outline: Sequence[Point], units: str) -> str:
    """How a spot is found from two corners, or why it cannot be told."""
    if place.x_m is None or place.y_m is None:
        return _(NOT_PLACED)
    found = from_corners(outline, (place.x_m, place.y_m))
    if not found:
        return _(NO_CORNERS)
    first, second = found
    return _("{first} from corner {one} and {second} from corner {other}").format(
        first=_tape(first, units), one=first.corner, second=_tape(second, units), other=second.corner
    )


def _tape(each: FromCorner, units: str) -> str:
    return format_measure(each.distance_m, Quantity.LENGTH, units)


def _outline_of(surface: Surface) -> tuple[Sequence[Point], str]:
    stored = Outline.objects.filter(surface=surface).first()
    if stored is None:
        return (), _(NO_PLAN)
    try:
        return stored.plan.outline, ""
    except UnreadablePayloadError:
        return (), _(UNREADABLE)
