"""Reading entries, and the rows that their paths name."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.apps import apps

from accounts.models import Organisation, User
from fieldwork.calc.forms import FieldForm
from fieldwork.models import FieldEntry
from qa.models.sites import OfSiteQuerySet
from qa.selectors.days import firm_zone


@dataclass(frozen=True, slots=True)
class Place:
    """Where an entry belongs: the firm, and the time zone by which its days are told."""

    organisation: Organisation
    zone: ZoneInfo


def find_entry(entry_id: UUID) -> FieldEntry | None:
    """An entry that is stored already, whoever made it."""
    return FieldEntry.objects.filter(pk=entry_id).select_related("organisation").first()


def rows_of_entries(user: User, entries: Collection[UUID]) -> dict[UUID, str]:
    """The id of the row that each entry stored, of those the user may read of."""
    found = FieldEntry.objects.for_user(user).filter(pk__in=entries)
    return dict(found.values_list("pk", "row_pk")) if entries else {}


def unknown_among(sent: Collection[UUID]) -> list[UUID]:
    """Entries that a phone has sent and the server does not have: it was restored from an older backup."""
    there = set(FieldEntry.objects.filter(pk__in=sent).values_list("pk", flat=True))
    return [one for one in dict.fromkeys(sent) if one not in there]


def place_of(user: User, form: FieldForm, pk: UUID) -> Place | None:
    """Where the row lies that a form is reached from; None where the user may not even read it."""
    rows: Any = apps.get_model(form.on).objects.for_user(user).filter(pk=pk)  # type: ignore[attr-defined]
    sited = isinstance(rows, OfSiteQuerySet)
    names = [rows.organisation_path] + ([f"{rows.site_path}__time_zone"] if sited else [])
    found = rows.values_list(*names).first()
    if found is None:
        return None
    organisation = Organisation.objects.get(pk=found[0])
    return Place(organisation, ZoneInfo(found[1]) if sited else firm_zone(organisation))
