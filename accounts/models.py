"""Users, organisations, roles, owners and invitations."""

import secrets
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, BaseUserManager
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.timezone import now
from simple_history.models import HistoricalRecords

from accounts.roles import FIRM_ROLES, Role
from accounts.rows import Row
from accounts.tenancy import TenantQuerySet


class Units(models.TextChoices):
    """Units people read and type in. The database keeps SI."""

    SI = "si", "SI (mm/h, m², °C)"
    US = "us", "US customary (in/h, ft², °F)"


class UserManager(BaseUserManager["User"]):
    """Makes users who sign in with their e-mail address."""

    def create_user(self, email: str, password: str | None = None, **extra: Any) -> "User":
        """Store a person. `password=None` leaves the account without one."""
        if not email:
            raise ValueError("A user needs an e-mail address, got an empty one.")
        user = self.model(email=self.normalize_email(email).lower(), **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **extra: Any) -> "User":
        """Store a person who may use the back office."""
        return self.create_user(email, password, is_staff=True, is_superuser=True, **extra)


class User(AbstractUser):
    """A person who signs in."""

    username = None  # type: ignore[assignment]
    email = models.EmailField("e-mail address", unique=True)
    full_name = models.CharField("name", max_length=120, blank=True)
    units = models.CharField(max_length=2, choices=Units, default=Units.SI)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects = UserManager()  # type: ignore[assignment,misc]

    def __str__(self) -> str:
        return self.full_name or self.email


class OrganisationQuerySet(TenantQuerySet):
    organisation_path = "pk"


class Organisation(Row):
    """The firm whose people use the tool; nothing crosses from one to another."""

    name = models.CharField(max_length=120)
    currency = models.CharField(
        max_length=3,
        default="EUR",
        validators=[RegexValidator(r"^[A-Z]{3}$", "Give the three-letter currency code, such as EUR.")],
        help_text="Three-letter code; costs are kept in it.",
    )
    alert_share = models.FloatField(
        "chance below the limit at which a test is due",
        default=0.10,
        validators=[MinValueValidator(0.01), MaxValueValidator(0.99)],
        help_text="0.10 means: test when there is a 10 % chance that the surface is below its limit.",
    )
    action_share = models.FloatField(
        "chance below the limit at which a cleaning is due",
        default=0.50,
        validators=[MinValueValidator(0.01), MaxValueValidator(0.99)],
    )
    wished_months = models.PositiveSmallIntegerField(
        "months a cleaning should last",
        default=12,
        validators=[MinValueValidator(1), MaxValueValidator(120)],
    )
    wished_share = models.FloatField(
        "chance that it lasts so long",
        default=0.80,
        validators=[MinValueValidator(0.05), MaxValueValidator(0.99)],
    )

    objects = OrganisationQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(alert_share__lte=models.F("action_share")),
                name="accounts_organisation_alert_before_action",
                violation_error_message="The test must fall due no later than the cleaning: "
                "give a chance for the test that is not above the one for the cleaning.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Membership(Row):
    """A person's role in a firm."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="memberships")
    user = models.ForeignKey(User, models.CASCADE, related_name="memberships")
    role = models.PositiveSmallIntegerField(choices=FIRM_ROLES, default=Role.VIEWER)

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-role", "user__email")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "user"),
                name="accounts_membership_once",
                violation_error_message="This person is already in the firm. Change the role instead.",
            ),
            models.CheckConstraint(
                condition=Q(role__in=[value for value, _ in FIRM_ROLES]),
                name="accounts_membership_role_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} in {self.organisation}"


class OwnerQuerySet(TenantQuerySet):
    organisation_path = "organisation"
    owner_path = "pk"


class Owner(Row):
    """The party that owns sites and receives reports."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="owners")
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=240, blank=True)
    email = models.EmailField("e-mail for reports", blank=True)
    phone = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)

    objects = OwnerQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="accounts_owner_name_once",
                violation_error_message="There is already an owner of this name. Use that one, or tell them apart.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("accounts:owner-detail", args=[self.pk])


class OwnerPersonQuerySet(TenantQuerySet):
    organisation_path = "owner__organisation"


class OwnerPerson(Row):
    """A person who reads the sites of one owner."""

    owner = models.ForeignKey(Owner, models.CASCADE, related_name="people")
    user = models.ForeignKey(User, models.CASCADE, related_name="owner_links")

    objects = OwnerPersonQuerySet.as_manager()

    class Meta:
        ordering = ("user__email",)
        constraints = [
            models.UniqueConstraint(
                fields=("owner", "user"),
                name="accounts_owner_person_once",
                violation_error_message="This person already sees the owner's sites.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} for {self.owner}"


def new_token() -> str:
    """A secret for an invitation link: 32 bytes from the system's source, in URL letters."""
    return secrets.token_urlsafe(32)


class Invitation(Row):
    """An open invitation into a firm, or to an owner's sites when `owner` is set."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="invitations")
    owner = models.ForeignKey(Owner, models.CASCADE, null=True, blank=True, related_name="invitations")
    email = models.EmailField("e-mail address")
    role = models.PositiveSmallIntegerField(choices=FIRM_ROLES, default=Role.VIEWER)
    token = models.CharField(max_length=64, unique=True, default=new_token, editable=False)
    invited_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, editable=False)

    objects = TenantQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at",)

    def __str__(self) -> str:
        return f"{self.email} to {self.owner or self.organisation}"

    @property
    def has_run_out(self) -> bool:
        """Whether its days are over."""
        return self.expires_at < now()
