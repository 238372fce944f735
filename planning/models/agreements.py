"""What the owner bought."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from simple_history.models import HistoricalRecords

from core.calc.months import Months, no_months
from core.models.payloads import StoredFact
from core.models.rows import Row
from qa.models import Site
from qa.models.sites import OfSiteQuerySet


class Agreement(Row):
    """Tests and cleanings a year that the owner of a site bought, and when reports are due."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="agreement", editable=False)
    since = models.DateField(
        "in force since",
        null=True,
        blank=True,
        help_text="Nothing it asks for falls due before that day. Empty: since the surface was opened.",
    )
    tests_per_year = models.FloatField(
        default=1.0,
        validators=[MinValueValidator(0), MaxValueValidator(52)],
        help_text="0.33 is one in three years; 0 is none agreed.",
    )
    cleanings_per_year = models.FloatField(
        default=0.0, validators=[MinValueValidator(0), MaxValueValidator(52)], help_text="0 is none agreed."
    )
    report_months_json = models.JSONField(default=no_months, editable=False)
    report_months = StoredFact(Months, "report_months_json")
    note = models.TextField(blank=True)

    objects = OfSiteQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("site",)

    def __str__(self) -> str:
        return f"Agreement for {self.site}"
