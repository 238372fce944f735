"""Firms and the roles of people in them."""

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from accounts.calc.roles import FIRM_ROLES, Role
from accounts.models.people import User
from accounts.models.tenancy import TenantQuerySet
from core.models.rows import Row


class OrganisationQuerySet(TenantQuerySet["Organisation"]):
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
    test_visit_price = models.DecimalField(
        "price of a test visit",
        max_digits=10,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text="What a client pays for one test round of a surface, the way there included.",
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

    second_factor = models.BooleanField(
        "ask for a second factor",
        default=False,
        help_text="People of the firm reach its pages only once they have set one up, by an app on their phone.",
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
