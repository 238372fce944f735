"""Renews the advice of many surfaces whose record has not changed, in as many queries for many as for one."""

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple
from uuid import UUID

from django.db import transaction

from core.services.many import write_many
from maintenance.calc.actions import Advice
from maintenance.calc.vocabulary import Action
from maintenance.models import AdviceRelease, Recommendation
from maintenance.models.recommendations import UNDECIDED
from maintenance.services.recommendations import SAID, say, sync_recommendations, within_reach
from qa.models import Surface


class Given(NamedTuple):
    """What is advised for a surface today."""

    surface: Surface
    advice: Sequence[Advice]


@transaction.atomic
def give_many(given: Sequence[Given]) -> None:
    """Update open advice where the same is advised as before; whatever else there is to do is done one by one.

    The record is the same as when it was advised, so nobody has done anything about it since; where somebody decided
    about it, put it off or shows it to the owner, it takes the way that all advice takes.
    """
    surfaces = [one.surface.pk for one in given]
    rows = Recommendation.objects.filter(surface__in=surfaces, status__in=UNDECIDED)
    undecided: dict[UUID, list[Recommendation]] = defaultdict(list)
    for row in rows.order_by("pk").select_for_update():
        undecided[row.surface_id].append(row)
    shown = set(
        AdviceRelease.objects.standing().filter(surface__in=surfaces).values_list("surface", flat=True)
    )
    changed: list[Recommendation] = []
    for one in given:
        said = None if one.surface.pk in shown else _renewed(one, undecided[one.surface.pk])
        if said is None:
            sync_recommendations(surface=one.surface, advice=one.advice)
        else:
            changed += said
    write_many(changed, SAID)


def _renewed(given: Given, rows: Sequence[Recommendation]) -> list[Recommendation] | None:
    """The rows that say something else today; None where more than their words is to be changed."""
    wanted = within_reach(given.surface, given.advice)
    open_rows = {Action(row.action): row for row in rows if row.is_open}
    if len(open_rows) != len(rows) or open_rows.keys() != wanted.keys():
        return None
    before = {action: (row.due_on, row.method) for action, row in open_rows.items()}
    said = [row for action, row in open_rows.items() if say(row, given.surface, wanted[action])]
    same = all((row.due_on, row.method) == before[action] for action, row in open_rows.items())
    return said if same else None
