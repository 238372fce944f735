"""Documents that were sent by mail, reports that are due to be, and those that go by themselves."""

from datetime import timedelta
from typing import ClassVar, Self

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, Owner, OwnerPerson, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import month
from core.models.jobs import Job, MailQuerySet
from core.models.rows import OnceRow, Row
from qa.models import Site
from reporting.calc.sharing import DueState
from reporting.models.links import SharedLink
from reporting.models.snapshots import Snapshot


def lower_case(address: str) -> None:
    """Refuse an address with capitals, which would be another row than the same without."""
    if address != address.lower():
        raise ValidationError(_("%(address)s is to be stored in small letters."), params={"address": address})


class SendingQuerySet(MailQuerySet["Sending"], TenantQuerySet["Sending"]):  # type: ignore[override]
    organisation_path = "organisation"


class Sending(OnceRow, Job):
    """A kept document that goes to one address by mail, with a link of its own.

    asked_by: None where it went by itself. server: the address of this server as whoever asked for it reached it.
    handed_at: when it was handed to the mail server; without sent_at nobody knows whether that took it.
    failures: in a row.
    """

    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=2)

    organisation = models.ForeignKey(Organisation, models.PROTECT, editable=False, related_name="sendings")
    document = models.ForeignKey(Snapshot, models.PROTECT, editable=False, related_name="sendings")
    link = models.OneToOneField(SharedLink, models.PROTECT, editable=False, related_name="sending")
    address = models.CharField(max_length=254, validators=[validate_email, lower_case], editable=False)
    for_reader = models.BooleanField(
        default=False, editable=False, help_text="Whether it went to somebody who read for the owner."
    )
    person = models.ForeignKey(OwnerPerson, models.SET_NULL, null=True, editable=False, related_name="+")
    message = models.TextField(blank=True, max_length=4000, editable=False)
    with_pdf = models.BooleanField(default=False, editable=False)
    server = models.CharField(max_length=200, editable=False)
    asked_at = models.DateTimeField(default=now, editable=False)
    asked_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    due_at = models.DateTimeField(default=now, editable=False)
    handed_at = models.DateTimeField(null=True, editable=False)
    sent_at = models.DateTimeField(null=True, editable=False)
    failures = models.PositiveSmallIntegerField(default=0, editable=False)

    objects = SendingQuerySet.as_manager()

    class Meta:
        ordering = ("-asked_at", "address", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("document", "address"),
                name="reporting_sent_once_an_address",
                violation_error_message=_lazy("This document was sent to that address before."),
            )
        ]

    def __str__(self) -> str:
        return _("{document} to {address}").format(document=self.document, address=self.address)

    def get_absolute_url(self) -> str:
        return self.document.get_absolute_url()


class OfSiteOfFirmQuerySet(TenantQuerySet["DueReport"]):
    organisation_path = "site__organisation"


class DueReport(Row):
    """A report that an agreement asks for in a month. It waits for the office, or goes by itself where that was set.

    since: the first day it would cover.
    """

    site = models.ForeignKey(Site, models.PROTECT, editable=False, related_name="due_reports")
    month = models.DateField(editable=False, help_text="First day of the month that asks for it.")
    since = models.DateField(editable=False)
    state = models.CharField(
        max_length=10, choices=DueState.choices, default=DueState.OPEN.value, editable=False
    )
    decided_at = models.DateTimeField(null=True, editable=False)
    decided_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    document = models.ForeignKey(Snapshot, models.PROTECT, null=True, editable=False, related_name="+")

    objects = OfSiteOfFirmQuerySet.as_manager()

    class Meta:
        ordering = ("month", "site__name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("site", "month"),
                name="reporting_due_once_a_month",
                violation_error_message=_lazy("The report of this site for that month is known already."),
            )
        ]

    def __str__(self) -> str:
        return _("Report of {site} for {month}").format(site=self.site, month=month(self.month))

    def get_absolute_url(self) -> str:
        return reverse("reporting:report-due", args=[self.pk])


class RoutineQuerySet(TenantQuerySet["ReportRoutine"]):
    organisation_path = "site__organisation"

    def going(self) -> Self:
        """Those that nobody ended."""
        return self.filter(ended_at=None)


class ReportRoutine(Row):
    """That the reports of a site go by themselves in the months agreed, to whom and as the one that was approved.

    It ends by hand, and rests while the site is another owner's than when it was set.
    """

    site = models.ForeignKey(Site, models.PROTECT, editable=False, related_name="report_routines")
    owner = models.ForeignKey(Owner, models.PROTECT, editable=False, related_name="+")
    document = models.ForeignKey(Snapshot, models.PROTECT, editable=False, related_name="+")
    set_at = models.DateTimeField(default=now, editable=False)
    set_by = models.ForeignKey(User, models.PROTECT, editable=False, related_name="+")
    ended_at = models.DateTimeField(null=True, editable=False)
    ended_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")

    objects = RoutineQuerySet.as_manager()

    class Meta:
        ordering = ("-set_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("site",),
                condition=Q(ended_at__isnull=True),
                name="reporting_one_routine_a_site",
                violation_error_message=_lazy("The reports of this site go by themselves already."),
            )
        ]

    def __str__(self) -> str:
        return _("Reports of {site} by themselves").format(site=self.site)
