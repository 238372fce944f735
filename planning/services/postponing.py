"""Days on which nobody can work: crews stay in, and what was on those days is planned again at once."""

from collections.abc import Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from core.calc.format import day
from core.errors import NotAllowedNowError
from core.models.rows import validate_and_save
from core.services.records import given_reason
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, CrewAbsence, Visit
from planning.selectors.outputs import Outputs
from planning.selectors.postponing import Moving, movings
from planning.services.visit_changes import note_change
from planning.services.visits import end_if_all_ended, refuse_past, save_visit
from qa.models import Site

CHANGED = gettext_noop(
    "Visits or crews changed since this was proposed, so nothing was moved. Look at the new proposal below."
)
NO_CREW = gettext_noop("Choose at least one crew.")
MOVED = gettext_noop("Moved to %(day)s: %(why)s")


@transaction.atomic
def mark_unworkable(
    *, crews: Sequence[Crew], on: date, reason: str, outputs: Outputs, proposed: Sequence[str]
) -> list[Moving]:
    """Keep crews in on a day, and move what stands on it as it was proposed. Returns what was moved, and what was not.

    proposed: keys of the movings that a person looked at. Raises NotAllowedNowError where they are others by now.
    A second time for the same day and crews is refused in the same way: there is nothing left to move.
    """
    reason = given_reason(reason)
    refuse_past(on)
    if not crews:
        raise ValidationError({"crews": _(NO_CREW)})
    locked = list(Crew.objects.select_for_update().filter(pk__in=[crew.pk for crew in crews]))
    of_day = Visit.objects.select_for_update().filter(crew__in=locked, visit_on=on)
    list(of_day.order_by("pk"))  # held until the end: nobody calls one off or adds to it meanwhile
    moves = movings(locked, on, outputs, Site.today)
    if [move.key for move in moves] != list(proposed):
        raise NotAllowedNowError(_(CHANGED))
    for crew in locked:
        if not crew.absences.filter(first_on__lte=on, last_on__gte=on).exists():
            validate_and_save(CrewAbsence(crew=crew, first_on=on, last_on=on, reason=reason[:120]))
    for move in moves:
        if move.to is not None:
            _move(move.visit, move.to, reason)
    return moves


def _move(visit: Visit, to: date, reason: str) -> None:
    """What is open of a visit goes to a day; what ended stays with the day on which it did.

    A visit of which nothing ended goes as it is, unless the crew has one on that day, which it then joins.
    """
    there = Visit.objects.select_for_update().filter(
        crew=visit.crew_id, visit_on=to, status=VisitStatus.SCHEDULED
    )
    other = there.exclude(pk=visit.pk).first()
    if other is None and not visit.tasks.filter(ended_at__isnull=False).exists():
        visit.visit_on = to
        save_visit(visit=visit)
        return
    other = other or save_visit(visit=_same_on(visit, to))
    visit.tasks.filter(ended_at=None).update(visit=other, begins_min=None, ends_min=None)
    note = "\n".join(dict.fromkeys(filter(None, (other.note, visit.note))))
    if note != other.note:
        other.note = note
        save_visit(visit=other)
    if visit.tasks.exists():
        end_if_all_ended(visit.pk)
    else:
        with override(visit.organisation.language):  # everybody of the firm reads it
            visit.cancel_reason = _(MOVED) % {"day": day(to), "why": reason}
        visit.status = VisitStatus.CANCELLED
        visit.save(update_fields=["status", "cancel_reason"])
    for changed in (visit, other):
        note_change(visit_id=changed.pk)


def _same_on(visit: Visit, on: date) -> Visit:
    return Visit(
        organisation_id=visit.organisation_id,
        crew=visit.crew,
        visit_on=on,
        note=visit.note,
        planned_by=visit.planned_by,
    )
