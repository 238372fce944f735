"""Storing the outline of a surface, and the test locations proposed on it."""

from collections.abc import Iterator, Sequence
from itertools import count
from string import ascii_uppercase

from django.core.exceptions import ValidationError
from django.db import transaction

from core.errors import UnusableRecordError
from core.models.rows import validate_and_save
from qa.calc.counts import Spot, SurfacePlan, refuse_bad_plan
from qa.models import Location, Outline, Surface
from qa.services.register import save_locations


@transaction.atomic
def save_plan(
    *, surface: Surface, plan: SurfacePlan, spots: Sequence[Spot], keep_locations: bool
) -> list[Location]:
    """Store the outline and new locations at the spots; those there are stay, or leave (retired if tested)."""
    _save_outline(surface, plan)
    current = list(surface.locations.filter(retired=False))
    labels = _free_labels(surface)
    added = [Location(label=next(labels), zone=spot.zone.value, x_m=spot.x_m, y_m=spot.y_m) for spot in spots]
    save_locations(surface=surface, locations=added, removed=[] if keep_locations else current)
    return added


def _save_outline(surface: Surface, plan: SurfacePlan) -> None:
    try:
        refuse_bad_plan(plan)
    except UnusableRecordError as error:
        raise ValidationError({"corners": str(error)}) from error
    row = Outline.objects.filter(surface=surface).first() or Outline(surface=surface)
    row.plan = plan
    validate_and_save(row)


def _free_labels(surface: Surface) -> Iterator[str]:
    """Letters not used yet, then numbered ones; a retired location keeps its label for good."""
    used = set(surface.locations.values_list("label", flat=True))
    names = (letter + (str(turn) if turn else "") for turn in count() for letter in ascii_uppercase)
    return (name for name in names if name not in used)
