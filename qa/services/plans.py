"""Storing the outline of a surface, and the test locations proposed on it."""

from collections.abc import Iterator, Sequence
from itertools import count
from string import ascii_uppercase

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from core.models.rows import validate_and_save
from qa.calc.counts import Spot
from qa.calc.outlines import Point, SurfacePlan, refuse_bad_plan, refuse_outside
from qa.models import Location, Outline, Surface
from qa.selectors.locations import positions_of
from qa.services.register import save_locations


@transaction.atomic
def save_plan(
    *,
    surface: Surface,
    plan: SurfacePlan,
    spots: Sequence[Spot],
    keep_locations: bool,
    system: UnitSystem = UnitSystem.SI,
) -> list[Location]:
    """Store the outline and new locations at the spots; those there are stay, or leave (retired if tested).

    system: the units in which a refusal says where. Raises ValidationError for an outline that does not go round a
    surface once, and for a spot or a location that stays outside it.
    """
    current = list(surface.locations.filter(retired=False))
    _refuse_bad(plan, spots, current if keep_locations else [], system)
    _save_outline(surface, plan)
    labels = _free_labels(surface)
    added = [Location(label=next(labels), zone=spot.zone.value, x_m=spot.x_m, y_m=spot.y_m) for spot in spots]
    save_locations(surface=surface, locations=added, removed=[] if keep_locations else current, system=system)
    return added


def _refuse_bad(
    plan: SurfacePlan, spots: Sequence[Spot], kept: Sequence[Location], system: UnitSystem
) -> None:
    try:
        refuse_bad_plan(plan, system)
        refuse_outside(plan.outline, _named(spots), system)
    except ImpossibleRecordError as error:
        raise ValidationError({"corners": str(error)}) from error
    try:
        refuse_outside(plan.outline, positions_of(kept), system)
    except ImpossibleRecordError as error:
        raise ValidationError({"existing": str(error)}) from error


def _named(spots: Sequence[Spot]) -> dict[str, Point]:
    return {
        _("New spot {number}").format(number=n): (spot.x_m, spot.y_m) for n, spot in enumerate(spots, start=1)
    }


def _save_outline(surface: Surface, plan: SurfacePlan) -> None:
    row = Outline.objects.filter(surface=surface).first() or Outline(surface=surface)
    row.plan = plan
    validate_and_save(row)


def _free_labels(surface: Surface) -> Iterator[str]:
    """Letters not used yet, then numbered ones; a retired location keeps its label for good."""
    used = set(surface.locations.values_list("label", flat=True))
    names = (letter + (str(turn) if turn else "") for turn in count() for letter in ascii_uppercase)
    return (name for name in names if name not in used)
