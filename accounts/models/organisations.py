"""Firms and the roles of people in them."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.calc.roles import FIRM_ROLES, Role, firm_roles
from accounts.models.people import User
from accounts.models.tenancy import TenantQuerySet
from core.calc.care_value import BELOW_PRICE_M2_YR, FRESH_TEST_ABOVE
from core.calc.countries import FALLBACK_ZONE
from core.calc.languages import Language
from core.calc.units import PRICE_DECIMALS
from core.models.currencies import currency_known, money_field
from core.models.decimals import DecimalColumn
from core.models.rows import Row
from core.models.zones import country_known, time_zone_valid


class OrganisationQuerySet(TenantQuerySet["Organisation"]):
    organisation_path = "pk"


class Organisation(Row):
    """The firm whose people use the tool; nothing crosses from one to another."""

    name = models.CharField(_lazy("name"), max_length=120)
    currency = models.CharField(
        _lazy("currency"),
        max_length=3,
        default="EUR",
        validators=[currency_known],
        help_text=_lazy("Three-letter code of ISO 4217, such as EUR; costs and prices are kept in it."),
    )
    country = models.CharField(
        _lazy("country"),
        max_length=2,
        blank=True,
        validators=[country_known],
        help_text=_lazy("New sites, limits and units start from what is usual there."),
    )
    language = models.CharField(
        _lazy("language"),
        max_length=8,
        default=Language.ENGLISH.value,
        choices=Language.choices,
        help_text=_lazy("Of reports and mails to owners, where nothing else is said of an owner."),
    )
    time_zone = models.CharField(
        _lazy("time zone"),
        max_length=64,
        default=FALLBACK_ZONE,
        validators=[time_zone_valid],
        help_text=_lazy("Of the office. A new site starts with it."),
    )
    test_visit_price = DecimalColumn(
        _lazy("price of a test visit"),
        max_digits=14,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_lazy("What a client pays for one test round of a surface, the way there included."),
    )
    below_price_m2_yr = DecimalColumn(
        _lazy("a year within the limit is worth, a square metre"),
        max_digits=10,
        decimal_places=PRICE_DECIMALS,
        default=Decimal(str(BELOW_PRICE_M2_YR)),
        validators=[MinValueValidator(0)],
        help_text=_lazy(
            "What it is worth to avoid a year below the limit. Advice weighs it against what care costs. "
            "The starting value is our judgement."
        ),
    )
    fresh_test_above = DecimalColumn(
        _lazy("a restoration above this sum waits for a fresh test and a person's word"),
        max_digits=10,
        decimal_places=2,
        default=Decimal(str(FRESH_TEST_ABOVE)),
        validators=[MinValueValidator(0)],
        help_text=_lazy(
            "Restorations are refilling and re-jointing, milling, lifting and relaying. "
            "The starting value is our judgement."
        ),
    )

    approval_above = money_field(
        _lazy("work above this price needs the owner's approval"),
        null=True,
        blank=True,
        help_text=_lazy(
            "An approved quote. What is advised or planned without one is marked. Empty: none is needed."
        ),
    )

    prices_given_at = models.DateTimeField(
        null=True,
        editable=False,
        help_text="When somebody last looked through prices and outputs and stored them.",
    )
    second_factor = models.BooleanField(
        _lazy("ask for a second factor"),
        default=False,
        help_text=_lazy(
            "People of the firm reach its pages only once they have set one up, by an app on their phone."
        ),
    )

    objects = OrganisationQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")

    def __str__(self) -> str:
        return self.name

    def language_of(self, user: User) -> str:
        """The language that mails of the firm to a person are written in: theirs, else the firm's."""
        return user.language or self.language


class Membership(Row):
    """A person's role in a firm."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="memberships")
    user = models.ForeignKey(User, models.CASCADE, related_name="memberships")
    role = models.PositiveSmallIntegerField(_lazy("role"), choices=firm_roles, default=Role.VIEWER)

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("-role", "user__email")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "user"),
                name="accounts_membership_once",
                violation_error_message=_lazy("This person is already in the firm. Change the role instead."),
            ),
            models.CheckConstraint(
                condition=Q(role__in=[role.value for role in FIRM_ROLES]),
                name="accounts_membership_role_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} in {self.organisation}"
