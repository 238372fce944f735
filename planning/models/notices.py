"""Mails that tell an owner's people the days of visits."""

from datetime import timedelta
from typing import ClassVar, Self

from django.db import models
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import OwnerPerson
from accounts.models.tenancy import TenantQuerySet
from core.models.jobs import Job, JobQuerySet
from core.models.rows import Row
from planning.models.visits import Visit


class OwnerNoticeQuerySet(JobQuerySet["OwnerNotice"], TenantQuerySet["OwnerNotice"]):  # type: ignore[override]
    organisation_path = "reader__owner__organisation"

    def wanted(self) -> Self:
        """Mails whose time has come."""
        return self.unfinished().filter(due_at__lte=now())


class OwnerNotice(Row, Job):
    """The mail to one person of an owner: what they were told, and when what changed since is told.

    due_at: when it goes out; what changes until then comes with it. handed_at: when a mail server was about to be given
    it; where no answer came, nobody knows whether it went out, and it is not sent again. failures: in a row
    """

    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=2)

    reader = models.OneToOneField(OwnerPerson, models.CASCADE, related_name="notice", editable=False)
    due_at = models.DateTimeField(editable=False)
    handed_at = models.DateTimeField(null=True, editable=False)
    sent_at = models.DateTimeField(null=True, editable=False)
    failures = models.PositiveSmallIntegerField(default=0, editable=False)

    objects = OwnerNoticeQuerySet.as_manager()

    class Meta:
        ordering = ("due_at", "pk")

    def __str__(self) -> str:
        return _("Mail to {reader}").format(reader=self.reader)


class ToldDayQuerySet(TenantQuerySet["ToldDay"]):
    organisation_path = "notice__reader__owner__organisation"


class ToldDay(Row):
    """The day of a visit as a person was last told it. told_on: None once they were told that it is cancelled."""

    notice = models.ForeignKey(OwnerNotice, models.CASCADE, related_name="told", editable=False)
    visit = models.ForeignKey(Visit, models.CASCADE, related_name="told", editable=False)
    told_on = models.DateField(null=True, editable=False)
    told_at = models.DateTimeField(editable=False)

    objects = ToldDayQuerySet.as_manager()

    class Meta:
        ordering = ("told_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("notice", "visit"),
                name="planning_told_once_a_visit",
                violation_error_message=_lazy("This person was told of the visit already."),
            )
        ]

    def __str__(self) -> str:
        return _("{visit} as told to {reader}").format(visit=self.visit, reader=self.notice.reader)
