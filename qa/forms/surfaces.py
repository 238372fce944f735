"""Text to typed values for surfaces."""

from django import forms

from accounts.webforms import Group, grouped
from qa.calc.units import Quantity
from qa.forms.measures import MeasuredForm
from qa.models import Surface

GROUPS = (
    ("What it is", ("name", "surface_type", "area_m2", "opened_on", "removed_on", "joint_width_mm")),
    (
        "What clogs it",
        ("traffic", "run_on_area_m2", "run_on_from", "bare_soil", "trees", "winter_grit"),
    ),
    ("The rate it must keep", ("limit_preset", "limit_mm_h", "limit_source", "acceptance_rate_mm_h")),
    (
        "Water below",
        ("overflow_invert_mm", "overflow_diameter_mm", "soil_rate_mm_h", "reuse_store_m3", "note"),
    ),
)


class SurfaceForm(MeasuredForm):
    measures = {
        "area_m2": Quantity.AREA,
        "run_on_area_m2": Quantity.AREA,
        "limit_mm_h": Quantity.RATE,
        "acceptance_rate_mm_h": Quantity.RATE,
        "joint_width_mm": Quantity.SHORT_LENGTH,
        "overflow_diameter_mm": Quantity.SHORT_LENGTH,
        "overflow_invert_mm": Quantity.SHORT_LENGTH,
        "reuse_store_m3": Quantity.VOLUME,
        "soil_rate_mm_h": Quantity.RATE,
    }

    class Meta:
        model = Surface
        fields = (
            "name",
            "surface_type",
            "area_m2",
            "opened_on",
            "removed_on",
            "traffic",
            "run_on_area_m2",
            "run_on_from",
            "bare_soil",
            "trees",
            "winter_grit",
            "limit_mm_h",
            "limit_source",
            "acceptance_rate_mm_h",
            "joint_width_mm",
            "overflow_diameter_mm",
            "overflow_invert_mm",
            "soil_rate_mm_h",
            "reuse_store_m3",
            "note",
        )
        widgets = {
            "opened_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "removed_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    @property
    def groups(self) -> list[Group]:
        """The fields in the order a person thinks of them."""
        return grouped(self, *GROUPS)
