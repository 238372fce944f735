"""The build-up of a surface and its fixed test locations."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.paving import SurfaceType
from core.models.payloads import StoredFact
from core.models.rows import Row
from qa.calc.buildups import SHEETS, LayerKind
from qa.calc.counts import Zone
from qa.calc.kept_layers import KeptLayers
from qa.calc.outlines import SurfacePlan
from qa.models.surfaces import OfSurfaceQuerySet, Surface

NO_THICKNESS = (*(sheet.value for sheet in SHEETS), LayerKind.SUBGRADE.value)


class Layer(Row):
    """One layer, counted from the top down."""

    surface = models.ForeignKey(Surface, models.CASCADE, related_name="layers", verbose_name=_lazy("surface"))
    position = models.PositiveSmallIntegerField(_lazy("position from the top"))
    kind = models.CharField(_lazy("layer"), max_length=16, choices=LayerKind.choices)
    material = models.CharField(_lazy("material"), max_length=120, blank=True)
    thickness_mm = models.FloatField(
        _lazy("thickness (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.5), MaxValueValidator(5000)],
    )
    stone_min_mm = models.FloatField(
        _lazy("smallest stone (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(300)],
    )
    stone_max_mm = models.FloatField(
        _lazy("largest stone (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(300)],
    )
    porosity = models.FloatField(
        _lazy("porosity (share of voids)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.01), MaxValueValidator(0.95)],
        help_text=_lazy("Voids over total volume, such as 0.40; not the void ratio of soil mechanics."),
    )

    objects = OfSurfaceQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("position", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=NO_THICKNESS) | Q(thickness_mm__isnull=False),
                name="qa_layer_thickness_given",
                violation_error_message=_lazy("This layer needs a thickness in mm."),
            ),
            models.CheckConstraint(
                condition=Q(stone_min_mm__isnull=True)
                | Q(stone_max_mm__isnull=True)
                | Q(stone_max_mm__gte=F("stone_min_mm")),
                name="qa_layer_stone_range_ordered",
                violation_error_message=_lazy("The largest stone cannot be smaller than the smallest."),
            ),
        ]

    def __str__(self) -> str:
        return _("{layer} of {surface}").format(layer=self.get_kind_display(), surface=self.surface)

    @property
    def name(self) -> str:
        """Kind and material."""
        return ", ".join(filter(None, (self.get_kind_display(), self.material)))


class Location(Row):
    """A fixed test spot, tested again and again so that rates can be compared."""

    surface = models.ForeignKey(
        Surface, models.CASCADE, related_name="locations", verbose_name=_lazy("surface")
    )
    label = models.CharField(_lazy("label"), max_length=20)
    zone = models.CharField(_lazy("zone"), max_length=10, choices=Zone.choices, default=Zone.INTERIOR.value)
    description = models.CharField(_lazy("how to find it"), max_length=200, blank=True)
    x_m = models.FloatField(
        _lazy("x (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-10_000), MaxValueValidator(10_000)],
    )
    y_m = models.FloatField(
        _lazy("y (m)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-10_000), MaxValueValidator(10_000)],
    )
    retired = models.BooleanField(_lazy("no longer used"), default=False)

    objects = OfSurfaceQuerySet.as_manager()

    class Meta:
        ordering = ("label", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("surface", "label"),
                name="qa_location_label_once",
                violation_error_message=_lazy(
                    "This surface already has a location of that label. Use another label."
                ),
            ),
            models.CheckConstraint(
                condition=Q(x_m__isnull=True, y_m__isnull=True) | Q(x_m__isnull=False, y_m__isnull=False),
                name="qa_location_both_or_neither",
                violation_error_message=_lazy("A position needs both x and y. Enter both or neither."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} ({self.get_zone_display().lower()})"


class Outline(Row):
    """The shape of a surface seen from above, in metres in axes of its own; locations use the same axes."""

    surface = models.OneToOneField(
        Surface, models.CASCADE, related_name="outline", verbose_name=_lazy("surface")
    )
    plan_json = models.JSONField(editable=False)
    plan = StoredFact(SurfacePlan, "plan_json")

    objects = OfSurfaceQuerySet.as_manager()
    history = HistoricalRecords()

    def __str__(self) -> str:
        return _("Outline of {surface}").format(surface=self.surface)


class KeptBuildUpQuerySet(TenantQuerySet["KeptBuildUp"]):
    organisation_path = "organisation"


class KeptBuildUp(Row):
    """Layers that the firm keeps under a name, to start the build-up of other surfaces from."""

    organisation = models.ForeignKey(
        Organisation, models.PROTECT, related_name="kept_build_ups", editable=False
    )
    name = models.CharField(_lazy("name"), max_length=80)
    surface_type = models.CharField(_lazy("type"), max_length=20, choices=SurfaceType.choices)
    layers_json = models.JSONField(editable=False)
    layers = StoredFact(KeptLayers, "layers_json")

    objects = KeptBuildUpQuerySet.as_manager()

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="qa_kept_build_up_name_once",
                violation_error_message=_lazy(
                    "The firm keeps a build-up of this name already. Tell them apart."
                ),
            )
        ]

    def __str__(self) -> str:
        return self.name
