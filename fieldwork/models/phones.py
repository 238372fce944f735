"""Phones that people record on, and what they said they hold."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.models.rows import Row
from fieldwork.calc.agents import agent_in_words
from fieldwork.calc.phones import HeldState
from fieldwork.models.entries import FieldEntry


class PhoneQuerySet(TenantQuerySet["Phone"]):
    organisation_path = "organisation"

    def heard_of_after(self, phone: str = "") -> Self:
        """Phones of the same person and firm that came up after the last contact of an outer phone.

        phone: how the outer row leads to its phone. Whoever clears a browser's storage comes back as another phone.
        """
        return self.exclude(device=OuterRef(f"{phone}device")).filter(
            person=OuterRef(f"{phone}person"),
            organisation=OuterRef(f"{phone}organisation"),
            created_at__gt=OuterRef(f"{phone}last_contact_at"),
        )


class Phone(Row):
    """The browser of a phone on which one person records for one firm, as it last told of itself."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+", editable=False)
    person = models.ForeignKey(User, models.CASCADE, related_name="+", editable=False)
    device = models.UUIDField(
        editable=False, help_text="Made by the browser; another once its storage was cleared."
    )
    agent = models.CharField(
        max_length=300, blank=True, editable=False, help_text="What it is, in short words."
    )
    last_contact_at = models.DateTimeField(editable=False)
    is_protected = models.BooleanField(
        null=True, editable=False, help_text="Whether the browser promised to keep what is stored."
    )
    offset_s = models.FloatField(
        editable=False, help_text="To be added to the phone's clock to have the server's."
    )

    objects = PhoneQuerySet.as_manager()

    class Meta:
        ordering = ("-last_contact_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=["device", "person", "organisation"],
                name="fieldwork_phone_once",
                violation_error_message=_lazy("This phone is known already."),
            )
        ]

    def __str__(self) -> str:
        return agent_in_words(self.agent)


class HeldEntryQuerySet(TenantQuerySet["HeldEntry"]):
    organisation_path = "phone__organisation"

    def not_arrived(self) -> Self:
        """Those that the server has not stored, from this phone or from a file of it."""
        return self.filter(~Exists(FieldEntry.objects.filter(pk=OuterRef("entry"))))

    def open(self) -> Self:
        """Those that somebody may have to do something about: neither arrived nor dealt with."""
        return self.not_arrived().filter(dealt_with_at=None)

    def pressing(self, parked_before: datetime, waiting_before: datetime) -> Self:
        """Open ones that are lost or may be, or were refused or told of before an instant, and still are or wait."""
        lost = Q(state=HeldState.LOST.value)
        parked = Q(state=HeldState.PARKED.value, parked_at__lt=parked_before)
        waiting = Q(state=HeldState.WAITING.value, created_at__lt=waiting_before)
        return self.open().filter(lost | parked | waiting | Exists(Phone.objects.heard_of_after("phone__")))


class HeldEntry(Row):
    """An entry that a phone said it holds; it stays when the phone holds it no longer, and says what became of it."""

    phone = models.ForeignKey(Phone, models.CASCADE, related_name="held", editable=False)
    entry = models.UUIDField(editable=False)
    title = models.CharField(max_length=200, blank=True, editable=False)
    about = models.CharField(max_length=200, blank=True, editable=False)
    made_at = models.DateTimeField(editable=False, help_text="By the phone's clock.")
    state = models.CharField(max_length=10, choices=HeldState.choices, editable=False)
    reason = models.CharField(max_length=500, blank=True, editable=False, help_text="Why it was refused.")
    parked_at = models.DateTimeField(
        null=True, editable=False, help_text="Since when it is known as refused."
    )
    lost_at = models.DateTimeField(null=True, editable=False)
    dealt_with_at = models.DateTimeField(null=True, editable=False)
    dealt_with_by = models.ForeignKey(User, models.PROTECT, null=True, related_name="+", editable=False)
    dealt_with_reason = models.CharField(_lazy("reason"), max_length=500, blank=True, editable=False)

    objects = HeldEntryQuerySet.as_manager()

    class Meta:
        ordering = ("made_at", "pk")
        verbose_name_plural = "held entries"
        constraints = [
            models.UniqueConstraint(
                fields=["phone", "entry"],
                name="fieldwork_held_once_a_phone",
                violation_error_message=_lazy("This phone holds this entry already."),
            )
        ]

    def __str__(self) -> str:
        return self.title or str(self.entry)

    @property
    def open_since(self) -> datetime:
        """Since when the server knows that it is refused, or that it waits; by the server's clock."""
        return self.parked_at or self.created_at
