"""Text to typed values for surfaces."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.units import Quantity, UnitSystem
from core.forms.once import OnceForm
from core.forms.parts import DayInput, Group, folded_up, grouped, show_unit
from qa.calc.limits import NO_LIMIT
from qa.forms.limit_choice import chosen_rule, rule_field, set_rule, usual_rule
from qa.forms.measures import MeasuredForm
from qa.models import Surface

RAIN, BELOW, REST = (
    gettext_noop("A design rain, or a rate that was agreed"),
    gettext_noop("Joints and water below"),
    gettext_noop("Guarantee, removal, note"),
)
GROUPS = (
    (
        gettext_noop("What it is"),
        (
            "name",
            "surface_type",
            "area_m2",
            "opened_on",
        ),
    ),
    (
        gettext_noop("What clogs it"),
        ("traffic", "run_on_area_m2", "run_on_from", "bare_soil", "trees", "winter_grit"),
    ),
    (gettext_noop("The rate it must keep"), ("rule",)),
    (
        RAIN,
        (
            "design_intensity_mm_h",
            "clogging_share",
            "agreed_limit_mm_h",
            "agreed_source",
            "acceptance_rate_mm_h",
        ),
    ),
    (
        BELOW,
        (
            "joint_width_mm",
            "overflow_invert_mm",
            "overflow_diameter_mm",
            "soil_measured_mm_h",
            "soil_safety_factor",
            "soil_rate_mm_h",
            "reuse_store_m3",
            "drain_limit_h",
            "subgrade_slope_percent",
            "subgrade_fall_length_m",
            "foundation_distance_m",
            "well_distance_m",
            "water_table_depth_m",
        ),
    ),
    (REST, ("guarantee_from", "guarantee_months", "removed_on", "note")),
)


class SurfaceForm(MeasuredForm[Surface], OnceForm[Surface]):
    also_writes = ("limit_preset", "own_limit")
    measures = {
        "area_m2": Quantity.AREA,
        "run_on_area_m2": Quantity.AREA,
        "design_intensity_mm_h": Quantity.RATE,
        "agreed_limit_mm_h": Quantity.RATE,
        "acceptance_rate_mm_h": Quantity.RATE,
        "joint_width_mm": Quantity.SHORT_LENGTH,
        "overflow_diameter_mm": Quantity.SHORT_LENGTH,
        "overflow_invert_mm": Quantity.SHORT_LENGTH,
        "reuse_store_m3": Quantity.VOLUME,
        "soil_measured_mm_h": Quantity.RATE,
        "soil_rate_mm_h": Quantity.RATE,
        "subgrade_fall_length_m": Quantity.LENGTH,
        "foundation_distance_m": Quantity.LENGTH,
        "well_distance_m": Quantity.LENGTH,
        "water_table_depth_m": Quantity.LENGTH,
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
            "design_intensity_mm_h",
            "clogging_share",
            "agreed_limit_mm_h",
            "agreed_source",
            "acceptance_rate_mm_h",
            "joint_width_mm",
            "overflow_diameter_mm",
            "overflow_invert_mm",
            "soil_measured_mm_h",
            "soil_safety_factor",
            "soil_rate_mm_h",
            "reuse_store_m3",
            "drain_limit_h",
            "subgrade_slope_percent",
            "subgrade_fall_length_m",
            "foundation_distance_m",
            "well_distance_m",
            "water_table_depth_m",
            "guarantee_from",
            "guarantee_months",
            "note",
        )
        widgets = {
            "guarantee_from": DayInput(),
            "opened_on": DayInput(),
            "removed_on": DayInput(),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        show_unit(self.fields["guarantee_months"], _("months"))
        self.fields["opened_on"].help_text = _("The day it was opened to traffic, or will be.")
        if units == UnitSystem.US:
            self.fields["subgrade_slope_percent"].help_text = _(
                "Feet down in 100 feet along the fall; 0 for level."
            )
        show_unit(self.fields["drain_limit_h"], "h")
        self.fields["drain_limit_h"].label = _("The stone must be empty within")
        self.fields["rule"] = rule_field(self.instance, units)
        self.fields["rule"].wide = True  # type: ignore[attr-defined]
        self.initial["rule"] = self.initial.get("rule") or chosen_rule(self.instance) or self._usual()

    def _usual(self) -> str:
        return usual_rule(self.instance) if self.instance._state.adding else ""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        asked = ("rule", "design_intensity_mm_h", "agreed_limit_mm_h")
        if not any(cleaned.get(name) or name in self.errors for name in asked):
            self.add_error("rule", _(NO_LIMIT))
        if "rule" in cleaned:
            set_rule(self.instance, cleaned["rule"])
        return cleaned

    @property
    def groups(self) -> list[Group]:
        """The fields in the order a person thinks of them."""
        groups = [(_(title), names) for title, names in GROUPS]
        return folded_up(grouped(self, *groups), _(BELOW), _(REST))
