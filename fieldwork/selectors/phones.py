"""What a firm's phones told of themselves."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from accounts.models import Organisation, User
from fieldwork.calc.phones import PRESSING_AFTER, WAITING_PRESSES_AFTER
from fieldwork.models import HeldEntry, Phone

SHOWN_FOR = timedelta(days=60)  # without anything on it, a phone is shown for so long


def phones_of(organisation: Organisation, at: datetime, person: User | None = None) -> QuerySet[Phone]:
    """Phones heard of lately, and those with something open, each with `open_entries` and `was_replaced`.

    person: only theirs.
    """
    entries = HeldEntry.objects.open()
    is_of_use = Q(last_contact_at__gte=at - SHOWN_FOR) | Exists(entries.filter(phone=OuterRef("pk")))
    rows = Phone.objects.of_organisation(organisation).filter(is_of_use)
    rows = rows if person is None else rows.filter(person=person)
    return (
        rows.select_related("person")
        .annotate(was_replaced=Exists(Phone.objects.heard_of_after()))
        .prefetch_related(Prefetch("held", queryset=entries, to_attr="open_entries"))
    )


def settled_of(organisation: Organisation, at: datetime, person: User | None = None) -> QuerySet[HeldEntry]:
    """What did not arrive and was dealt with lately, the last first. person: only theirs."""
    rows = HeldEntry.objects.of_organisation(organisation).filter(dealt_with_at__gte=at - SHOWN_FOR)
    rows = rows if person is None else rows.filter(phone__person=person)
    return rows.not_arrived().select_related("phone__person", "dealt_with_by").order_by("-dealt_with_at")


def pressing_entries(organisation: Organisation, at: datetime) -> QuerySet[HeldEntry]:
    """What the office should look at: lost, on a phone that may have been cleared, refused or waiting for too long."""
    rows = HeldEntry.objects.of_organisation(organisation)
    return rows.pressing(at - PRESSING_AFTER, at - WAITING_PRESSES_AFTER)


def last_contact_of(device: UUID, person: User) -> Phone | None:
    """A phone of a person as it was heard of last, whichever firm they acted for."""
    return Phone.objects.filter(device=device, person=person).order_by("-last_contact_at").first()


def people_with_phones(organisation: Organisation) -> QuerySet[User]:
    """Who records for a firm, and who did on a phone that it still knows."""
    works = Q(memberships__organisation=organisation)
    worked = Exists(Phone.objects.of_organisation(organisation).filter(person=OuterRef("pk")))
    return User.objects.filter(works | worked).distinct()
