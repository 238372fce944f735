"""What the clogging model says: of a firm's whole portfolio, and of each surface."""

from django.db import models
from django.db.models import F, Q
from django.utils.timezone import now

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.jobs import JobState
from core.models.payloads import StoredPayload, of_another_schema
from core.models.rows import Row
from maintenance.calc.backtest_payload import BacktestScores
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.vocabulary import SurfaceState
from qa.models import Site, Surface
from qa.models.surfaces import OfSurfaceQuerySet


class PortfolioFitQuerySet(TenantQuerySet):
    def newest_done(self, organisation: Organisation) -> "PortfolioFit | None":
        """The newest finished fit of a firm."""
        done = PortfolioFit.objects.of_organisation(organisation).filter(state=JobState.DONE)
        return done.order_by("-finished_at").first()


class PortfolioFit(Row):
    """Portfolio parameters of one organisation, fitted to all its surfaces. The row is also the job."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="portfolio_fits")
    state = models.CharField(max_length=8, choices=JobState.choices, default=JobState.WAITING.value)
    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.TextField(blank=True)
    finished_at = models.DateTimeField(null=True)
    result = models.JSONField(null=True)
    backtest_json = models.JSONField(null=True, help_text="Scores on tests held back from the fit.")
    backtest = StoredPayload(BacktestScores, "backtest_json")
    converged = models.BooleanField(default=False)
    message = models.TextField(blank=True)
    surfaces = models.PositiveIntegerField(default=0)
    tests = models.PositiveIntegerField(default=0)

    objects = PortfolioFitQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at",)
        indexes = [
            models.Index(fields=["organisation", "state", "-finished_at"], name="maintenance_fit_newest")
        ]

    def __str__(self) -> str:
        return f"Portfolio of {self.organisation}, {self.created_at:%Y-%m-%d}"


class ForecastQuerySet(OfSurfaceQuerySet):
    def stale(self) -> "ForecastQuerySet":
        """Forecasts of an older record, of a day that is over at the site, or written by another edition."""
        stale = Q(made_from_version__lt=F("surface__record_version"))
        for day, zones in Site.objects.zones_by_date(now()).items():
            stale |= Q(made_on__lt=day, surface__site__time_zone__in=zones)
        return self.filter(stale | (Q(error="") & of_another_schema("outlook_json", ForecastOutlook)))


class Forecast(Row):
    """The newest forecast of a surface, and the state of the job that makes it."""

    surface = models.OneToOneField(Surface, models.CASCADE, related_name="forecast")
    made_from_version = models.PositiveIntegerField(default=0)
    made_on = models.DateField(null=True)
    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.TextField(blank=True)
    surface_state = models.CharField(
        max_length=12, choices=SurfaceState.choices, default=SurfaceState.NOT_TESTED.value
    )
    rate_now_mm_h = models.FloatField(null=True)
    rate_low_mm_h = models.FloatField(null=True, help_text="Lower end of the 80 % range.")
    rate_high_mm_h = models.FloatField(null=True, help_text="Upper end of the 80 % range.")
    share_below_now = models.FloatField(null=True, help_text="Probability of being below the limit today.")
    below_10_on = models.DateField(null=True, help_text="First day with a 10 % chance below the limit.")
    below_50_on = models.DateField(null=True, help_text="First day with a 50 % chance below the limit.")
    below_90_on = models.DateField(null=True, help_text="First day with a 90 % chance below the limit.")
    decline_percent_yr = models.FloatField(null=True)
    outlook_json = models.JSONField(null=True, help_text="Curves, gains and past forecasts.")
    outlook = StoredPayload(ForecastOutlook, "outlook_json")

    objects = ForecastQuerySet.as_manager()

    class Meta:
        ordering = ("surface",)
        indexes = [models.Index(fields=["surface_state"], name="maintenance_forecast_state")]

    def __str__(self) -> str:
        return f"Forecast of {self.surface}"

    @property
    def is_stale(self) -> bool:
        """Whether the record has changed since, or another edition of the program made it."""
        return self.made_from_version < self.surface.record_version or self.is_of_another_edition

    @property
    def is_of_another_edition(self) -> bool:
        """Whether what is stored cannot be read, so that it must be made anew."""
        return not self.error and self.outlook_json is not None and self.outlook is None
