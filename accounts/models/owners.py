"""Owners of sites, the people who read for them, and invitations."""

from django.core.validators import MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.calc.roles import Role, firm_roles
from accounts.models.organisations import Organisation
from accounts.models.people import User
from accounts.models.tenancy import TenantQuerySet
from core.calc.languages import Language
from core.calc.units import PRICE_DECIMALS
from core.models.decimals import DecimalColumn
from core.models.folded import FoldedText
from core.models.rows import OnceRow, Row


class OwnerQuerySet(TenantQuerySet["Owner"]):
    organisation_path = "organisation"
    owner_path = "pk"


class Owner(OnceRow):
    """The party that owns sites and receives reports."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="owners")
    name = models.CharField(_lazy("name"), max_length=120)
    address = models.CharField(_lazy("address"), max_length=240, blank=True)
    email = models.EmailField(_lazy("e-mail for reports"), blank=True)
    phone = models.CharField(_lazy("phone"), max_length=40, blank=True)
    language = models.CharField(
        _lazy("language"),
        max_length=8,
        blank=True,
        choices=Language.choices,
        help_text=_lazy("Of reports, certificates and mails to this owner. Empty: the firm's."),
    )
    note = models.TextField(_lazy("note"), blank=True)
    below_price_m2_yr = DecimalColumn(
        _lazy("a year within the limit is worth, a square metre"),
        max_digits=10,
        decimal_places=PRICE_DECIMALS,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_lazy("Only where it differs from the firm's settings."),
    )

    words = FoldedText(of=("name",))
    place_words = FoldedText(of=("address",))

    objects = OwnerQuerySet.as_manager()
    history = HistoricalRecords(excluded_fields=["words", "place_words"])

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="accounts_owner_name_once",
                violation_error_message=_lazy(
                    "There is already an owner of this name. Use that one, or tell them apart."
                ),
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def reads(self) -> str:
        """The language that papers and mails for this owner are written in."""
        return self.language or self.organisation.language

    def get_absolute_url(self) -> str:
        return reverse("accounts:owner-detail", args=[self.pk])


class OwnerPersonQuerySet(TenantQuerySet["OwnerPerson"]):
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
                violation_error_message=_lazy("This person already sees the owner's sites."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} for {self.owner}"


class Invitation(Row):
    """An open invitation into a firm, or to an owner's sites when `owner` is set.

    Only the hash of its link's secret is stored: whoever reads the database or a backup of it joins nobody's firm. The
    link that is mailed holds a second secret, which proves the address; by a link passed on in another way one joins
    with a proven address only, or waits until somebody of the firm confirms who it is.
    """

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="invitations")
    owner = models.ForeignKey(Owner, models.CASCADE, null=True, blank=True, related_name="invitations")
    email = models.EmailField(_lazy("e-mail address"))
    role = models.PositiveSmallIntegerField(_lazy("role"), choices=firm_roles, default=Role.VIEWER)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    mail_hash = models.CharField(max_length=64, editable=False)
    waiting = models.ForeignKey(
        User,
        models.SET_NULL,
        null=True,
        editable=False,
        related_name="+",
        help_text="Who opened the link with an address that nobody has proven.",
    )
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
