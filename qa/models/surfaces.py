"""Surfaces: one continuous permeable area of one build-up."""

from datetime import date
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation
from accounts.models.tenancy import M
from core.calc.audit import AuditState
from core.calc.paving import SurfaceType, Traffic
from core.models.folded import FoldedText
from core.models.pages import page_of
from core.models.rows import OnceRow
from qa.calc.guarantee import guarantee_end
from qa.calc.limits import CLOGGING_SHARE_DEFAULT
from qa.models.presets import RATE_VALIDATORS, OwnLimit
from qa.models.sites import OfSiteQuerySet, Site


class SurfaceQuerySet(OfSiteQuerySet["Surface"]):
    def in_service(self) -> "SurfaceQuerySet":
        """Surfaces that still exist."""
        return self.filter(removed_on=None)


class OfSurfaceQuerySet(OfSiteQuerySet[M]):
    """Rows of a surface."""

    site_path = "surface__site"


class AuditedQuerySet(OfSurfaceQuerySet[M]):
    """Facts of a surface."""

    def active(self) -> Self:
        """Records that results and forecasts use."""
        return self.filter(state=AuditState.ACTIVE)


class Surface(OnceRow):
    """What lies there, since when, what drains onto it, and the rate it must keep."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="surfaces", verbose_name=_lazy("site"))
    name = models.CharField(_lazy("name"), max_length=120)
    surface_type = models.CharField(_lazy("type"), max_length=20, choices=SurfaceType.choices)
    area_m2 = models.FloatField(
        _lazy("area (m²)"), validators=[MinValueValidator(0.1), MaxValueValidator(1e6)]
    )
    opened_on = models.DateField(_lazy("opened on"), help_text=_lazy("The day it was opened to traffic."))
    removed_on = models.DateField(_lazy("removed on"), null=True, blank=True)

    run_on_area_m2 = models.FloatField(
        _lazy("area draining on to it (m²)"),
        default=0.0,
        validators=[MinValueValidator(0.0), MaxValueValidator(1e7)],
    )
    run_on_from = models.CharField(_lazy("what drains onto it"), max_length=160, blank=True)
    # As it was when the surface was opened: a SourceChange says what changed after that.
    bare_soil = models.BooleanField(
        _lazy("bare soil or planting drains onto it"),
        default=False,
        help_text=_lazy(
            "As it was at first. Record on the surface's page when a source was stopped or a new one began."
        ),
    )
    trees = models.BooleanField(_lazy("trees stand over it"), default=False)
    winter_grit = models.BooleanField(_lazy("grit is spread on it in winter"), default=False)
    traffic = models.PositiveSmallIntegerField(
        _lazy("traffic"), choices=Traffic.choices, default=Traffic.CARS.value
    )

    # What the limit is made from; `limit_mm_h` and `limit_source` are worked out by the service.
    limit_preset = models.CharField(max_length=40, blank=True, editable=False)
    own_limit = models.ForeignKey(
        OwnLimit, models.PROTECT, null=True, blank=True, editable=False, related_name="surfaces"
    )
    design_intensity_mm_h = models.FloatField(
        _lazy("intensity of the design rain (mm/h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(2000)],
        help_text=_lazy("From the local rainfall table. The surface must take it with its run-on."),
    )
    clogging_share = models.FloatField(
        _lazy("share of the new rate left when clogged"),
        default=CLOGGING_SHARE_DEFAULT,
        validators=[MinValueValidator(0.01), MaxValueValidator(1)],
        help_text=_lazy(
            "0.10 is common in design guides (from memory). It raises what is required for acceptance."
        ),
    )
    agreed_limit_mm_h = models.FloatField(
        _lazy("agreed limit (mm/h)"), null=True, blank=True, validators=RATE_VALIDATORS
    )
    agreed_source = models.CharField(
        _lazy("where it is agreed"),
        max_length=200,
        blank=True,
        help_text=_lazy("The contract, design or letter."),
    )
    limit_mm_h = models.FloatField(
        _lazy("limit (mm/h)"),
        validators=RATE_VALIDATORS,
        editable=False,
        help_text=_lazy("The rate below which the surface must be cleaned."),
    )
    limit_source = models.CharField(_lazy("where the limit comes from"), max_length=240, editable=False)
    acceptance_rate_mm_h = models.FloatField(
        _lazy("agreed acceptance rate (mm/h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(1e6)],
        help_text=_lazy("The rate asked for when new, if one was agreed."),
    )

    joint_width_mm = models.FloatField(
        _lazy("joint width (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.5), MaxValueValidator(200)],
    )
    overflow_diameter_mm = models.FloatField(
        _lazy("overflow pipe diameter (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(10), MaxValueValidator(2000)],
    )
    overflow_invert_mm = models.FloatField(
        _lazy("overflow height above the subgrade (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(5000)],
        help_text=_lazy("What lies below this height is stored and soaks away."),
    )
    reuse_store_m3 = models.FloatField(
        _lazy("reuse store (m³)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1e5)],
    )
    soil_measured_mm_h = models.FloatField(
        _lazy("measured rate of the soil (mm/h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1e4)],
        help_text=_lazy("By a soil test at the depth of the subgrade."),
    )
    soil_safety_factor = models.FloatField(
        _lazy("safety factor on the soil"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(20)],
        help_text=_lazy(
            "2 to 3 is usual, more where a flooded building would follow. The local rule decides."
        ),
    )
    soil_rate_mm_h = models.FloatField(
        _lazy("design rate of the soil (mm/h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1e4)],
        help_text=_lazy("Left empty, it is the measured rate over the safety factor."),
    )
    drain_limit_h = models.FloatField(
        _lazy("the stone must be empty within (h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(1000)],
        help_text=_lazy(
            "After the end of the rain, as agreed or ruled locally. Empty: as the rule of the limit asks."
        ),
    )
    subgrade_slope_percent = models.FloatField(
        _lazy("fall of the subgrade (%)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(50)],
        help_text=_lazy("Metres down in 100 metres along the fall; 0 for level."),
    )
    subgrade_fall_length_m = models.FloatField(
        _lazy("length along the fall (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(5000)],
        help_text=_lazy("Between terraces or check dams, if there are any."),
    )
    foundation_distance_m = models.FloatField(
        _lazy("distance to the nearest foundation (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(10_000)],
    )
    well_distance_m = models.FloatField(
        _lazy("distance to the nearest well (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(10_000)],
    )
    water_table_depth_m = models.FloatField(
        _lazy("subgrade down to high water or bedrock (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1000)],
        help_text=_lazy("Seasonal high water table or rock, whichever is nearer."),
    )
    guarantee_from = models.DateField(
        _lazy("guarantee from"), null=True, blank=True, help_text=_lazy("Empty: from the day it opened.")
    )
    guarantee_months = models.PositiveSmallIntegerField(
        _lazy("guarantee"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(360)],
        help_text=_lazy("By the contract. A last test is asked for before it ends."),
    )
    note = models.TextField(_lazy("note"), blank=True)

    # Rises with every change that a forecast depends on; a forecast made from an older number is stale.
    record_version = models.PositiveIntegerField(default=1, editable=False)
    words = FoldedText(of=("name",))

    objects = SurfaceQuerySet.as_manager()
    history = HistoricalRecords(excluded_fields=["record_version", "words"])

    class Meta:
        ordering = ("site__name", "name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("site", "name"),
                name="qa_surface_name_once",
                violation_error_message=_lazy(
                    "This site already has a surface of this name. Tell them apart."
                ),
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True) | Q(removed_on__gte=F("opened_on")),
                name="qa_surface_removed_after_opening",
                violation_error_message=_lazy("A surface cannot be removed before it was opened."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.site}"

    def get_absolute_url(self) -> str:
        return page_of(self)

    @property
    def crumb(self) -> str:
        """What it is called below its site."""
        return self.name

    @property
    def organisation(self) -> Organisation:
        """The firm it belongs to. Reads site and organisation when they are not joined."""
        return self.site.organisation

    @property
    def guarantee_starts_on(self) -> date:
        """The first day of the guarantee, where there is one."""
        return self.guarantee_from or self.opened_on

    @property
    def guarantee_ends_on(self) -> date | None:
        """The last day of the guarantee; None where none is recorded."""
        return guarantee_end(self.guarantee_starts_on, self.guarantee_months)

    @property
    def run_on_ratio(self) -> float:
        """Area draining on to the surface over its own area."""
        return self.run_on_area_m2 / self.area_m2

    @property
    def opens_later(self) -> bool:
        """Whether traffic is yet to be let on to it, by the date at its site. Reads the site when not joined."""
        return self.opened_on > self.site.today()
