"""Entries from phones that are stored."""

from typing import Self
from uuid import uuid4

from django.db import models

from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.models.rows import Row


class FieldEntryQuerySet(TenantQuerySet["FieldEntry"]):
    organisation_path = "organisation"

    def made_by(self, person: User) -> Self:
        """What one person made, whoever took it in."""
        return self.filter(person=person)


class FieldEntry(Row):
    """An entry that a phone kept and the server has stored; its id was made on the phone.

    It lies beside the row that it stored, so that the same entry, however often it comes, is answered and not stored
    again. Times by the phone's clock are kept as they came.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False, help_text="Made on the phone.")
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="+", editable=False)
    person = models.ForeignKey(
        User, models.PROTECT, related_name="+", editable=False, help_text="Who made it on the phone."
    )
    taken_in_by = models.ForeignKey(
        User,
        models.PROTECT,
        null=True,
        related_name="+",
        editable=False,
        help_text="Who took it in from a file; the row it stored is recorded by them.",
    )
    device = models.UUIDField(editable=False, help_text="The phone's own id, made by the browser.")
    path = models.CharField(max_length=2_000, editable=False, help_text="Of the form, as the phone sent it.")
    title = models.CharField(max_length=200, blank=True, editable=False)
    about = models.CharField(max_length=200, blank=True, editable=False)
    form_version = models.CharField(max_length=200, blank=True, editable=False)
    digest = models.CharField(max_length=64, editable=False, help_text="SHA-256 of what was typed.")
    made_at = models.DateTimeField(editable=False, help_text="By the phone's clock.")
    sent_at = models.DateTimeField(editable=False, help_text="By the phone's clock.")
    received_at = models.DateTimeField(editable=False)
    offset_s = models.FloatField(
        editable=False, help_text="Added to what the phone's clock filled in; 0 where it was right."
    )
    row_pk = models.CharField(max_length=64, blank=True, editable=False, help_text="Of the row it stored.")
    url = models.CharField(max_length=2_000, blank=True, editable=False)
    notes = models.TextField(blank=True, editable=False, help_text="What the form said, a line each.")
    warnings = models.TextField(
        blank=True, editable=False, help_text="Those of the notes that are to be looked at, a line each."
    )

    objects = FieldEntryQuerySet.as_manager()

    class Meta:
        ordering = ("-received_at", "pk")
        verbose_name_plural = "field entries"
        indexes = [models.Index(fields=["person", "-received_at"], name="fieldwork_entry_by_person")]

    def __str__(self) -> str:
        return self.title or str(self.pk)

    def get_absolute_url(self) -> str:
        return self.url
