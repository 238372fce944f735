"""What people are told, what they chose to be told, and the daily mails that tell them."""

from datetime import timedelta
from typing import ClassVar, Self

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.notices import KEPT_DAYS, USUAL_HOUR, NoticeKind
from accounts.models.organisations import Membership, Organisation
from accounts.models.owners import Owner, OwnerPerson
from accounts.models.people import User
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.calc.jobs import JobState
from core.calc.secrets import hash_of, new_secret
from core.models.jobs import Job, JobQuerySet
from core.models.rows import Row


def hash_of_nothing() -> str:
    """What a mail has until it is written: of a secret that nobody was told."""
    return hash_of(new_secret())


class NoticeSettings(Row):
    """How a person is told what concerns them at one firm. mail_hour: by the clocks of the firm's office."""

    user = models.ForeignKey(User, models.CASCADE, related_name="notice_settings", editable=False)
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+", editable=False)
    mail_on = models.BooleanField(_lazy("send me a daily mail"), default=True)
    mail_hour = models.PositiveSmallIntegerField(
        _lazy("at"), default=USUAL_HOUR, validators=[MaxValueValidator(23)]
    )

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("user", "organisation"),
                name="accounts_settings_once_a_firm",
                violation_error_message=_lazy("This person has chosen for the firm already. Change that."),
            )
        ]

    def __str__(self) -> str:
        return f"What {self.user} is told by {self.organisation}"


class NoticeChoice(Row):
    """How one kind of notice reaches a person; where there is none, it is as usual for their role."""

    settings = models.ForeignKey(NoticeSettings, models.CASCADE, related_name="choices", editable=False)
    kind = models.CharField(max_length=10, choices=NoticeKind.choices, editable=False)
    in_app = models.BooleanField(_lazy("in the app"))
    by_mail = models.BooleanField(_lazy("by daily mail"))

    class Meta:
        ordering = ("kind",)
        constraints = [
            models.UniqueConstraint(
                fields=("settings", "kind"),
                name="accounts_choice_once_a_kind",
                violation_error_message=_lazy("This kind is chosen already. Change that choice."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.settings}"


class DigestMailQuerySet(JobQuerySet["DigestMail"], TenantQuerySet["DigestMail"]):  # type: ignore[override]
    def wanted(self) -> Self:
        """Mails whose time has come."""
        return self.unfinished().filter(due_at__lte=now())


class DigestMail(Row, Job):
    """The daily mail to one person of what is new at one firm.

    on: the day of the firm's office it is for, one a day. handed_at: when a mail server was about to be given it; where
    no answer came, nobody knows whether it went out, and it is not sent again. failures: in a row
    """

    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=2)

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+", editable=False)
    user = models.ForeignKey(User, models.CASCADE, related_name="+", editable=False)
    on = models.DateField(editable=False)
    due_at = models.DateTimeField(editable=False)
    handed_at = models.DateTimeField(null=True, editable=False)
    sent_at = models.DateTimeField(null=True, editable=False)
    failures = models.PositiveSmallIntegerField(default=0, editable=False)
    stop_hash = models.CharField(
        max_length=64,
        unique=True,
        default=hash_of_nothing,
        editable=False,
        help_text="Of the secret that ends these mails.",
    )

    objects = DigestMailQuerySet.as_manager()

    class Meta:
        ordering = ("due_at", "pk")
        indexes = [models.Index(fields=["state", "due_at"], name="accounts_digest_jobs")]
        constraints = [
            models.UniqueConstraint(
                fields=("user", "organisation", "on"),
                name="accounts_digest_once_a_day",
                violation_error_message=_lazy("This person has a daily mail for that day already."),
            )
        ]

    def __str__(self) -> str:
        return f"Daily mail to {self.user}, {day(self.on)}"


class NoticeQuerySet(models.QuerySet["Notice"]):
    """Notices of people: nobody reads those of somebody else, whatever their role."""

    def still_told(self) -> Self:
        """Those whose person holds the role, or reads for the owner, for which they were told."""
        member = Membership.objects.filter(
            user=OuterRef("user"), organisation=OuterRef("organisation"), role__gte=OuterRef("least_role")
        )
        reader = OwnerPerson.objects.filter(user=OuterRef("user"), owner=OuterRef("owner"))
        return self.filter(Q(owner=None) & Exists(member) | Exists(reader))

    def told_to(self, user: User) -> Self:
        """What somebody was told and may still read."""
        return self.still_told().filter(user=user.pk)

    def in_app(self) -> Self:
        """Those that are to be read on pages, as far back as anybody looks."""
        return self.filter(in_app=True, created_at__gte=now() - timedelta(days=KEPT_DAYS))

    def unread(self) -> Self:
        """Those that nobody opened."""
        return self.filter(read_at=None)

    def to_mail(self) -> Self:
        """Those that wait for a daily mail."""
        return self.filter(by_mail=True, digest=None, read_at=None)

    def not_gone_out(self) -> Self:
        """Those that wait for a daily mail, or in one that has not gone out."""
        unfinished = Q(digest=None) | Q(digest__state__in=(JobState.WAITING, JobState.RUNNING))
        return self.filter(unfinished, by_mail=True, read_at=None)

    def never_mailed(self) -> Self:
        """Those that were to come by mail alone, in one that failed."""
        return self.filter(in_app=False, by_mail=True, digest__state=JobState.FAILED)


class Notice(Row):
    """Something that one person wanted to be told, in one sentence, with the page that shows it.

    owner: for whose people it is; empty for the firm's own. least_role: without it a person of the firm reads it no
    longer. about_model, about_id: the row it tells of. occasion: which happening to that row, so that one that is
    reported twice is told once. digest: the daily mail that took it.
    """

    user = models.ForeignKey(User, models.CASCADE, related_name="notices", editable=False)
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+", editable=False)
    owner = models.ForeignKey(Owner, models.CASCADE, null=True, related_name="+", editable=False)
    kind = models.CharField(max_length=10, choices=NoticeKind.choices, editable=False)
    least_role = models.PositiveSmallIntegerField(editable=False)
    about_model = models.CharField(max_length=80, editable=False)
    about_id = models.UUIDField(editable=False)
    occasion = models.CharField(max_length=120, blank=True, editable=False)
    text = models.CharField(max_length=400, editable=False)
    path = models.CharField(max_length=500, editable=False)
    in_app = models.BooleanField(editable=False)
    by_mail = models.BooleanField(editable=False)
    read_at = models.DateTimeField(null=True, editable=False)
    digest = models.ForeignKey(DigestMail, models.SET_NULL, null=True, related_name="notices", editable=False)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")
        indexes = [
            models.Index(
                fields=["user"], condition=Q(in_app=True, read_at=None), name="accounts_notice_unread"
            ),
            models.Index(fields=["user", "-created_at"], name="accounts_notice_of_person"),
            models.Index(
                fields=["user", "organisation"],
                condition=Q(by_mail=True, digest=None, read_at=None),
                name="accounts_notice_to_mail",
            ),
            models.Index(fields=["created_at"], name="accounts_notice_by_age"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=("user", "organisation", "kind", "about_id", "occasion"),
                name="accounts_notice_told_once",
                violation_error_message=_lazy("This person was told of it already."),
            )
        ]

    def __str__(self) -> str:
        return self.text

    def get_absolute_url(self) -> str:
        return reverse("accounts:notice-open", args=[self.pk])
