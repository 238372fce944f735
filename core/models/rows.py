"""What every stored row shares."""

import uuid

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _lazy

from core.calc.audit import AuditState


class Row(models.Model):
    """A row with an id that can be made anywhere, and the time it was stored (UTC)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    created_at = models.DateTimeField(auto_now_add=True, editable=False)

    class Meta:
        abstract = True


class OnceRow(Row):
    """A row that a form sent twice stores once."""

    device_id = models.UUIDField(
        unique=True, null=True, editable=False, help_text="Made on the device; sending twice stores once."
    )

    class Meta:
        abstract = True


class AuditedRecord(OnceRow):
    """Something recorded that is never overwritten: it is replaced or set aside, with a reason.

    Rows that count for results and forecasts are those in the state ACTIVE.
    """

    state = models.CharField(
        max_length=10, choices=AuditState.choices, default=AuditState.ACTIVE.value, editable=False
    )
    state_reason = models.TextField(_lazy("reason"), blank=True, editable=False)
    state_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    state_at = models.DateTimeField(null=True, editable=False)
    replaces = models.OneToOneField(
        "self", models.PROTECT, null=True, editable=False, related_name="replaced_by"
    )
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )

    class Meta:
        abstract = True

    @property
    def is_active(self) -> bool:
        """Whether results and forecasts use it."""
        return self.state == AuditState.ACTIVE


def validate_and_save(row: models.Model, *fields: str) -> None:
    """Check the whole row, then save it. Raises ValidationError; nothing is stored then.

    fields: the columns to write of a row that is there already, so that what somebody else changed
    in the others meanwhile stays; all of them where none is named.
    """
    row.full_clean()
    row.save(update_fields=None if row._state.adding or not fields else fields)
