"""What an owner's people and the firm write to one another about a surface, and the mails that tell of it."""

from datetime import timedelta
from typing import ClassVar, Self

from django.core.validators import MaxLengthValidator
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Owner, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.audit import AuditState
from core.models.jobs import Job, MailQuerySet
from core.models.rows import AuditedRecord, Row
from qa.models import Surface
from reporting.calc.messages import MOST_LETTERS


class ThreadMessageQuerySet(TenantQuerySet["ThreadMessage"]):
    organisation_path = "surface__site__organisation"
    owner_path = "owner"

    def active(self) -> Self:
        """Those that were not withdrawn."""
        return self.filter(state=AuditState.ACTIVE)

    def waiting(self) -> Self:
        """Of each surface the last word of an owner, where the firm neither answered nor said that it need not."""
        later = ThreadMessage.objects.active().filter(
            surface=OuterRef("surface"), owner=OuterRef("owner"), written_at__gt=OuterRef("written_at")
        )
        asked = self.active().filter(from_owner=True, settled_at=None, surface__removed_on=None)
        return asked.filter(~Exists(later))


class ThreadMessage(AuditedRecord):
    """One message of the thread of a surface. It is never erased; one written by mistake is withdrawn, with a reason.

    owner: whose the surface was when it was written, and who reads it whoever buys the site later. from_owner: whether
    somebody of that owner wrote it. settled_at: when the firm said that it needs no answer.
    """

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="messages", editable=False)
    owner = models.ForeignKey(Owner, models.PROTECT, related_name="+", editable=False)
    from_owner = models.BooleanField(editable=False)
    text = models.TextField(
        _lazy("message"), max_length=MOST_LETTERS, validators=[MaxLengthValidator(MOST_LETTERS)]
    )
    written_at = models.DateTimeField(default=now, editable=False)
    settled_at = models.DateTimeField(null=True, editable=False)
    settled_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")

    objects = ThreadMessageQuerySet.as_manager()

    class Meta:
        ordering = ("written_at", "pk")
        indexes = [models.Index(fields=["surface", "-written_at"], name="reporting_message_of_surface")]
        constraints = [
            models.CheckConstraint(
                condition=Q(settled_at=None) | Q(from_owner=True),
                name="reporting_message_settled_owners",
                violation_error_message=_lazy("Only what an owner's people wrote waits for an answer."),
            )
        ]

    def __str__(self) -> str:
        return _("Message about {surface}").format(surface=self.surface)

    def get_absolute_url(self) -> str:
        return f"{reverse('reporting:surface-detail', args=[self.surface_id])}#questions-t"


class MessageMailQuerySet(MailQuerySet["MessageMail"], TenantQuerySet["MessageMail"]):  # type: ignore[override]
    organisation_path = "message__surface__site__organisation"


class MessageMail(Row, Job):
    """The mail that tells one person of one message.

    link: to the thread, as the writer's browser named this server. handed_at: when a mail server was about to be given
    it; where no answer came, nobody knows whether it went out, and it is not sent again. failures: in a row
    """

    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=2)

    message = models.ForeignKey(ThreadMessage, models.CASCADE, related_name="mails", editable=False)
    to = models.ForeignKey(User, models.CASCADE, related_name="+", editable=False)
    link = models.URLField(max_length=500, editable=False)
    due_at = models.DateTimeField(editable=False)
    handed_at = models.DateTimeField(null=True, editable=False)
    sent_at = models.DateTimeField(null=True, editable=False)
    failures = models.PositiveSmallIntegerField(default=0, editable=False)

    objects = MessageMailQuerySet.as_manager()

    class Meta:
        ordering = ("due_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("message", "to"),
                name="reporting_message_mailed_once",
                violation_error_message=_lazy("This person is told of the message already."),
            )
        ]

    def __str__(self) -> str:
        return f"Mail to {self.to}: {self.message}"
