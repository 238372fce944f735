"""Sites: properties with one or more surfaces."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.timezone import now
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation, Owner
from accounts.models.tenancy import M, TenantQuerySet
from core.calc.months import Months, no_months
from core.calc.units import PRICE_DECIMALS
from core.calc.weekdays import Weekdays, no_weekdays
from core.models.decimals import DecimalColumn
from core.models.folded import FoldedText
from core.models.pages import page_of
from core.models.payloads import StoredFact
from core.models.rows import OnceRow
from core.models.zones import time_zone_valid


class SiteQuerySet(TenantQuerySet["Site"]):
    organisation_path = "organisation"
    owner_path = "owner"


class OfSiteQuerySet(TenantQuerySet[M]):
    """Rows reached from a site: read by people of its firm and of its owner. `site_path` leads to it."""

    site_path = "site"
    organisation_path = "site__organisation"
    owner_path = "site__owner"

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls.organisation_path = f"{cls.site_path}__organisation"
        cls.owner_path = f"{cls.site_path}__owner"


class Site(OnceRow):
    """A property: where it is, whose it is, and when the weather there stops work."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="sites", editable=False)
    owner = models.ForeignKey(Owner, models.PROTECT, related_name="sites", verbose_name=_lazy("owner"))
    name = models.CharField(_lazy("name"), max_length=120)
    address = models.CharField(_lazy("address"), max_length=240, blank=True)
    latitude_deg = models.FloatField(
        _lazy("latitude (degrees north)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-90.0), MaxValueValidator(90.0)],
    )
    longitude_deg = models.FloatField(
        _lazy("longitude (degrees east)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-180.0), MaxValueValidator(180.0)],
    )
    time_zone = models.CharField(
        _lazy("time zone"), max_length=64, default="UTC", validators=[time_zone_valid]
    )
    frost_months_json = models.JSONField(default=no_months, editable=False)
    frost_months = StoredFact(Months, "frost_months_json")
    leaf_fall_months_json = models.JSONField(default=no_months, editable=False)
    leaf_fall_months = StoredFact(Months, "leaf_fall_months_json")
    access_note = models.TextField(_lazy("how to get in"), blank=True)
    works_from = models.TimeField(
        _lazy("work from"), null=True, blank=True, help_text=_lazy("Empty: at any hour.")
    )
    works_until = models.TimeField(
        _lazy("work until"), null=True, blank=True, help_text=_lazy("Empty: at any hour.")
    )
    closed_weekdays_json = models.JSONField(default=no_weekdays, editable=False)
    closed_weekdays = StoredFact(Weekdays, "closed_weekdays_json")
    notice_days = models.PositiveSmallIntegerField(
        _lazy("days of notice before work"),
        null=True,
        blank=True,
        validators=[MaxValueValidator(60)],
        help_text=_lazy("What the owner asks for. A plan puts nothing there sooner."),
    )
    rain_record = models.ForeignKey(
        "qa.RainRecord",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="sites",
        help_text=_lazy("The gauge nearest to it. It shows whether the day before a test was dry."),
        verbose_name=_lazy("rain record"),
    )
    below_price_m2_yr = DecimalColumn(
        _lazy("a year within the limit is worth, a square metre"),
        max_digits=10,
        decimal_places=PRICE_DECIMALS,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_lazy("Only where it differs from what holds for its owner or the firm."),
    )

    words = FoldedText(of=("name",))
    place_words = FoldedText(of=("address",))

    objects = SiteQuerySet.as_manager()
    history = HistoricalRecords(excluded_fields=["words", "place_words"])

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="qa_site_name_once",
                violation_error_message=_lazy(
                    "There is already a site of this name. Use that one, or tell them apart."
                ),
            ),
            models.CheckConstraint(
                condition=Q(latitude_deg__isnull=True, longitude_deg__isnull=True)
                | Q(latitude_deg__isnull=False, longitude_deg__isnull=False),
                name="qa_site_position_whole",
                violation_error_message=_lazy(
                    "A position needs both latitude and longitude; fill in both or neither."
                ),
            ),
            models.CheckConstraint(
                condition=Q(works_from__isnull=True)
                | Q(works_until__isnull=True)
                | Q(works_until__gt=F("works_from")),
                name="qa_site_hours_in_order",
                violation_error_message=_lazy("The hours for work end before they begin. Check both times."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_of(self)

    def today(self, at: datetime | None = None) -> date:
        """The calendar date at the site."""
        return (at or now()).astimezone(ZoneInfo(self.time_zone)).date()
