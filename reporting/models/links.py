"""Secret links: to a kept document, or to what an inspector asks for; and when they were opened."""

from datetime import datetime

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, Owner, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.devices import DeviceKind
from core.calc.format import moment
from core.calc.secrets import hash_of, new_secret
from core.calc.units import UnitSystem
from core.models.rows import OnceRow, Row
from qa.models import Site
from reporting.calc.sharing import LinkPart, LinkState
from reporting.models.snapshots import Snapshot


def hash_of_nothing() -> str:
    """What a link has until its address is made: of a secret that nobody was told."""
    return hash_of(new_secret())


class SharedLink(OnceRow):
    """An address that opens one kept document, or the tests and works of some sites, to whoever knows it.

    Only the hash of its secret is stored, so that the address is shown once, when it is made. Without a document it
    shows the record of its sites as it stands, of a period. expires_at: the end of ends_on, where the firm is.
    """

    organisation = models.ForeignKey(
        Organisation, models.PROTECT, editable=False, related_name="shared_links"
    )
    document = models.ForeignKey(
        Snapshot, models.PROTECT, null=True, blank=True, editable=False, related_name="links"
    )
    for_whom = models.CharField(
        _lazy("who it is for"), max_length=120, help_text=_lazy("For you to know it by.")
    )
    since = models.DateField(
        _lazy("from"),
        null=True,
        blank=True,
        help_text=_lazy("First day of the tests and works it shows."),
    )
    until = models.DateField(
        _lazy("to"), null=True, blank=True, help_text=_lazy("Empty: until the day it is opened.")
    )
    units = models.CharField(
        _lazy("units"), max_length=2, choices=UnitSystem.choices, default=UnitSystem.SI.value
    )
    secret_hash = models.CharField(max_length=64, unique=True, default=hash_of_nothing, editable=False)
    address_made_at = models.DateTimeField(null=True, editable=False)
    shown_to = models.ForeignKey(
        User,
        models.PROTECT,
        null=True,
        editable=False,
        related_name="+",
        help_text="Who was shown the address, to pass it on; empty where it was mailed.",
    )
    made_at = models.DateTimeField(default=now, editable=False)
    made_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    ends_on = models.DateField(_lazy("opens until"), help_text=_lazy("The last day on which it opens."))
    expires_at = models.DateTimeField(editable=False)
    revoked_at = models.DateTimeField(null=True, editable=False)
    revoked_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")

    objects = TenantQuerySet.as_manager()

    class Meta:
        ordering = ("-made_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(document__isnull=False, since__isnull=True, until__isnull=True)
                | Q(document__isnull=True, since__isnull=False),
                name="reporting_link_to_one_thing",
                violation_error_message=_lazy("A link opens a kept document, or sites from a day on."),
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="reporting_link_period_forward",
                violation_error_message=_lazy("The period cannot end before it begins. Check both days."),
            ),
        ]

    def __str__(self) -> str:
        return _("Link for {who}").format(who=self.for_whom)

    def get_absolute_url(self) -> str:
        return reverse("reporting:link-detail", args=[self.pk])

    def state_at(self, at: datetime) -> LinkState:
        """Whether it opens at an instant. Expects its document joined."""
        if self.revoked_at is not None:
            return LinkState.REVOKED
        if self.document is not None and not self.document.is_active:
            return LinkState.WITHDRAWN
        if self.expires_at <= at:
            return LinkState.EXPIRED
        return LinkState.OPEN if self.address_made_at else LinkState.UNSEEN


class SharedSiteQuerySet(TenantQuerySet["SharedSite"]):
    organisation_path = "link__organisation"


class SharedSite(Row):
    """A site behind a link, and whose it was when the link was made: once sold, it is shown no longer."""

    link = models.ForeignKey(SharedLink, models.CASCADE, editable=False, related_name="shared_sites")
    site = models.ForeignKey(Site, models.PROTECT, editable=False, related_name="+")
    owner = models.ForeignKey(Owner, models.PROTECT, editable=False, related_name="+")

    objects = SharedSiteQuerySet.as_manager()

    class Meta:
        ordering = ("site__name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("link", "site"),
                name="reporting_site_once_a_link",
                violation_error_message=_lazy("This site is behind the link already."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.site} behind {self.link}"


class LinkOpeningQuerySet(TenantQuerySet["LinkOpening"]):
    organisation_path = "link__organisation"


class LinkOpening(Row):
    """A minute in which something of a link was opened on a kind of device, and how often; nothing of who did."""

    link = models.ForeignKey(SharedLink, models.CASCADE, editable=False, related_name="openings")
    part = models.CharField(max_length=12, choices=LinkPart.choices, editable=False)
    opened_at = models.DateTimeField(editable=False, help_text="To the minute.")
    device = models.CharField(
        max_length=10, choices=DeviceKind.choices, default=DeviceKind.UNKNOWN.value, editable=False
    )
    times = models.PositiveIntegerField(default=1, editable=False, validators=[MinValueValidator(1)])

    objects = LinkOpeningQuerySet.as_manager()

    class Meta:
        ordering = ("-opened_at", "part")
        constraints = [
            models.UniqueConstraint(
                fields=("link", "part", "opened_at", "device"),
                name="reporting_opening_once_a_minute",
                violation_error_message="Openings of this minute are counted already.",
            )
        ]

    @property
    def is_several(self) -> bool:
        """Whether it was opened more than once in that minute."""
        return self.times > 1

    def __str__(self) -> str:
        return f"{self.get_part_display()} of {self.link}, {moment(self.opened_at)}"
