"""What the clogging model says: of a firm's whole portfolio, and of each surface. Both rows are jobs, too."""

from datetime import timedelta
from typing import Any, ClassVar, Self
from uuid import UUID

from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, Subquery, When
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.calc.jobs import JobState
from core.models.jobs import Job, JobQuerySet
from core.models.payloads import StoredPayload
from core.models.rows import Row
from maintenance.calc.backtest_payload import BacktestScores
from maintenance.calc.day_after import as_of
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.night_payload import Reckoned
from maintenance.calc.vocabulary import ForecastBasis, SurfaceState
from qa.models import Surface
from qa.models.surfaces import OfSurfaceQuerySet

OLDEST = timedelta(hours=30)  # a forecast that no night has renewed by then is made anew without


# The manager of each queryset is made anew from all it inherits; the checker would have it made from one.
class PortfolioFitQuerySet(JobQuerySet["PortfolioFit"], TenantQuerySet["PortfolioFit"]):  # type: ignore[override]
    def asked(self) -> Self:
        """Fits that somebody asked for; those of a night are done by whoever began it."""
        return super().asked().filter(Q(night=None) | Q(anew=True))

    def newest_done(self, organisation: Organisation) -> "PortfolioFit | None":
        """The newest finished fit of a firm."""
        return self.of_organisation(organisation).filter(state=JobState.DONE).order_by("-finished_at").first()

    def ended(self) -> Self:
        """Fits that came to an end, good or bad."""
        return self.filter(state__in=(JobState.DONE, JobState.FAILED))


class PortfolioFit(Row, Job):
    """Portfolio parameters of one organisation, fitted to all its surfaces.

    night: whose fit it is; a firm has one fit a night, however often the night's work is begun.
    anew: whether it is made in any case; that of a night keeps the parameters of the last where hardly anything is new.
    kept_from: the fit whose parameters it keeps; None where it made its own. evidence: of the records it was made from.
    """

    TRIED_AGAIN: ClassVar[str] = gettext_noop("The fit failed and is tried again.")
    GIVEN_UP: ClassVar[str] = gettext_noop(
        "The fit was begun 3 times and never ended. Ask for a new one; if it fails too, tell support."
    )

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="portfolio_fits")
    night = models.DateField(null=True, editable=False)
    result = models.JSONField(null=True)
    backtest_json = models.JSONField(null=True, help_text="Scores on tests held back from the fit.")
    backtest = StoredPayload(BacktestScores, "backtest_json")
    converged = models.BooleanField(default=False)
    message = models.TextField(blank=True)
    anew = models.BooleanField(default=True, editable=False)
    kept_from = models.UUIDField(null=True, editable=False)
    fitted_at = models.DateTimeField(null=True, editable=False)
    evidence = models.PositiveBigIntegerField(
        default=0, editable=False, help_text="Sum of the versions of the surfaces' records."
    )
    surfaces = models.PositiveIntegerField(default=0)
    tests = models.PositiveIntegerField(default=0)

    objects = PortfolioFitQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at",)
        indexes = [
            models.Index(fields=["organisation", "state", "-finished_at"], name="maintenance_fit_newest")
        ]
        constraints = [
            models.UniqueConstraint(fields=("organisation", "night"), name="maintenance_one_fit_a_night")
        ]

    @property
    def parameters_of(self) -> UUID:
        """The fit that made its parameters: itself, or the one it keeps to."""
        return self.kept_from or self.pk

    def __str__(self) -> str:
        return _("Portfolio of {firm}, {day}").format(firm=self.organisation, day=day(self.created_at))


class ForecastQuerySet(JobQuerySet["Forecast"], OfSurfaceQuerySet["Forecast"]):  # type: ignore[override]
    def wanted(self) -> Self:
        """Forecasts that were asked for, are of an older record, or were made before the newest fit ended.

        So a night makes each of them once: when the firm's fit has ended, well or not, and not before. Where there is
        no night, as with a fit that nobody asked for, they are made anew when they are OLDEST.
        """
        fits = PortfolioFit.objects.filter(organisation=OuterRef("surface__site__organisation"))
        newest = Subquery(fits.ended().order_by("-finished_at").values("pk")[:1])
        before_it = Q(newest_fit__isnull=False) & (Q(after_fit=None) | ~Q(after_fit=F("newest_fit")))
        old = Q(finished_at__lt=now() - OLDEST) & ~Exists(fits.unfinished())
        return self.annotate(newest_fit=newest).filter(
            Q(state__in=(JobState.WAITING, JobState.RUNNING))
            | Q(made_from_version__lt=F("surface__record_version"))
            | Q(error="", outlook_schema__isnull=False) & ~Q(outlook_schema=ForecastOutlook.SCHEMA)
            | Q(surface__removed_on=None) & (before_it | old)
        )


class OutlookOfToday(StoredPayload[ForecastOutlook]):
    """The curves from the day of the forecast on, which nights move on while what is stored still holds."""

    def _read(self, row: Any) -> ForecastOutlook | None:
        stored = super()._read(row)
        return as_of(stored, row.made_on) if stored and row.made_on else stored


class Forecast(Row, Job):
    """The newest forecast of a surface.

    What many surfaces are listed or judged by has columns of its own; whoever reads many forecasts leaves the curves
    unread (`bulky`), which are a thousand times as long.
    made_from_version, made_on: the record it was made from, and the day at the site that it tells of. The curves may be
    of a day before that, while nothing they rest on has changed; `outlook` reads them from made_on on.
    after_fit: the newest fit of the firm that had ended when it was made, whether or not it could be used.
    """

    BULKY: ClassVar[tuple[str, ...]] = ("outlook_json", "reckoned_json")
    MOST_ATTEMPTS: ClassVar[int] = 5
    TRIED_AGAIN: ClassVar[str] = gettext_noop("The forecast could not be made. It is tried again.")
    GIVEN_UP: ClassVar[str] = gettext_noop(
        "It failed 5 times, for reasons that are not in the record. It is tried again at night, "
        "or when the record changes."
    )

    surface = models.OneToOneField(Surface, models.CASCADE, related_name="forecast")
    made_from_version = models.PositiveIntegerField(default=0)
    made_on = models.DateField(null=True)
    after_fit = models.ForeignKey(PortfolioFit, models.SET_NULL, null=True, related_name="+")
    rests_on = models.CharField(
        max_length=10, choices=ForecastBasis.choices, default=ForecastBasis.PUBLISHED.value
    )
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
    decline_percentile = models.FloatField(
        null=True, help_text="Share of its kind that loses its rate more slowly."
    )
    pits_json = models.JSONField(
        default=list,
        help_text="Where each past round of readings fell in the forecast made before it, 0 to 1.",
    )
    outlook_json = models.JSONField(null=True, help_text="Curves, gains and past forecasts.")
    outlook = OutlookOfToday(ForecastOutlook, "outlook_json")
    reckoned_json = models.JSONField(
        null=True, editable=False, help_text="What its advice was reckoned from."
    )
    reckoned = StoredPayload(Reckoned, "reckoned_json")
    # Kept by the database beside the curves, which the sweep of each minute would else take apart to find it.
    outlook_schema = models.GeneratedField(
        expression=Case(
            When(outlook_json__isnull=True, then=None),
            default=Coalesce(Cast(KT("outlook_json__schema"), models.IntegerField()), 0),
        ),
        output_field=models.IntegerField(null=True),
        db_persist=True,
    )

    objects = ForecastQuerySet.as_manager()

    class Meta:
        ordering = ("surface",)
        # Rows are wide with their curves: what is counted and sought over all surfaces is read from the indexes alone.
        indexes = [
            models.Index(fields=["surface", "surface_state"], name="maintenance_forecast_state"),
            models.Index(fields=["state"], name="maintenance_forecast_jobs"),
        ]

    def __str__(self) -> str:
        return _("Forecast of {surface}").format(surface=self.surface)

    @classmethod
    def bulky(cls, prefix: str = "") -> tuple[str, ...]:
        """Columns that lists leave unread. prefix: the path to the forecast."""
        return tuple(f"{prefix}{name}" for name in cls.BULKY)

    @property
    def awaits_fit(self) -> bool:
        """Whether it rests on published figures only until an outdated fit is replaced."""
        return self.rests_on == ForecastBasis.OUTDATED

    @property
    def is_on_its_way(self) -> bool:
        """Whether it was asked for and nothing has failed since: whoever waits for it has it soon."""
        begun = 1 if self.state == JobState.RUNNING else 0
        return self.is_unfinished and self.attempts <= begun

    @property
    def is_stale(self) -> bool:
        """Whether the record has changed since, or another edition of the program made it."""
        return self.made_from_version < self.surface.record_version or self.is_of_another_edition

    @property
    def is_of_another_edition(self) -> bool:
        """Whether what is stored cannot be read, so that it must be made anew."""
        return not self.error and self.outlook_json is not None and self.outlook is None
