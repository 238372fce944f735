"""What the clogging model says: of a firm's whole portfolio, and of each surface."""

from django.db import models
from django.db.models import F, Q
from django.utils.timezone import now

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.jobs import JobState
from core.models.rows import Row
from maintenance.calc.vocabulary import SurfaceState
from qa.models import Surface
from qa.models.surfaces import OfSurfaceQuerySet


class PortfolioFitQuerySet(TenantQuerySet["PortfolioFit"]):
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
    judgement = models.JSONField(
        null=True, help_text="Scores on tests held back from the fit, as plain data."
    )
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


class ForecastQuerySet(OfSurfaceQuerySet["Forecast"]):
    def stale(self) -> "ForecastQuerySet":
        """Forecasts of an older record than the surface now has, or of an earlier day."""
        return self.filter(
            Q(made_from_version__lt=F("surface__record_version")) | Q(made_on__lt=now().date())
        )


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
    detail = models.JSONField(null=True, help_text="Curves, gains and past forecasts, as plain data.")

    objects = ForecastQuerySet.as_manager()

    class Meta:
        ordering = ("surface",)
        indexes = [models.Index(fields=["surface_state"], name="maintenance_forecast_state")]

    def __str__(self) -> str:
        return f"Forecast of {self.surface}"

    @property
    def is_stale(self) -> bool:
        """Whether the record has changed since."""
        return self.made_from_version < self.surface.record_version
