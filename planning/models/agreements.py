"""What the owner bought."""

from datetime import date

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from core.calc.months import Months, no_months
from core.models.decimals import DecimalColumn
from core.models.payloads import StoredFact
from core.models.rows import Row
from planning.calc.terms import term_end
from qa.models import Site
from qa.models.sites import OfSiteQuerySet


class Agreement(Row):
    """Tests and cleanings a year that the owner of a site bought, and when reports are due."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="agreement", editable=False)
    since = models.DateField(
        _lazy("in force since"),
        null=True,
        blank=True,
        help_text=_lazy(
            "Nothing it asks for falls due before that day. Empty: since the surface was opened."
        ),
    )
    tests_per_year = models.FloatField(
        _lazy("tests per year"),
        default=1.0,
        validators=[MinValueValidator(0), MaxValueValidator(52)],
        help_text=_lazy("0.33 is one in three years; 0 is none agreed."),
    )
    cleanings_per_year = models.FloatField(
        _lazy("cleanings per year"),
        default=0.0,
        validators=[MinValueValidator(0), MaxValueValidator(52)],
        help_text=_lazy("0 is none agreed."),
    )
    price_per_year = DecimalColumn(
        _lazy("price a year"),
        max_digits=11,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    currency = models.CharField(max_length=3, blank=True, editable=False)
    until = models.DateField(
        _lazy("in force until"),
        null=True,
        blank=True,
        help_text=_lazy("The last day of the term. Empty: without end."),
    )
    renews = models.BooleanField(
        _lazy("it renews by itself for a year"),
        default=False,
        help_text=_lazy(
            "Unless one side gives notice. Otherwise nothing it asks for falls due after its last day."
        ),
    )
    notice_days = models.PositiveSmallIntegerField(
        _lazy("days of notice before the end"),
        default=60,
        validators=[MaxValueValidator(730)],
        help_text=_lazy("What needs doing reminds you on that day."),
    )
    report_months_json = models.JSONField(default=no_months, editable=False)
    report_months = StoredFact(Months, "report_months_json")
    note = models.TextField(_lazy("note"), blank=True)

    objects = OfSiteQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("site",)
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(since__isnull=True) | Q(until__gte=F("since")),
                name="planning_agreement_ends_after_start",
                violation_error_message=_lazy("The agreement cannot end before it begins. Check both dates."),
            )
        ]

    def __str__(self) -> str:
        return _("Agreement for {site}").format(site=self.site)

    @property
    def promises_something(self) -> bool:
        """Whether tests or cleanings are agreed."""
        return self.tests_per_year > 0 or self.cleanings_per_year > 0

    def term_end(self, today: date) -> date | None:
        """The last day of the term that runs on that day, or ran last; None without end."""
        return term_end(self.until, self.renews, today)
