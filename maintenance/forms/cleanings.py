"""Text to typed values for cleanings and their terms."""

from typing import Any

from django import forms
from django.forms import BaseModelFormSet, modelformset_factory
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from core.calc.units import Quantity
from core.forms.fresh import FreshForm
from core.forms.once import OnceForm
from core.forms.parts import DayInput, show_unit
from maintenance.calc.cleaning_record import ASKED_BY
from maintenance.calc.suitability import possible_methods, suited_methods
from maintenance.models import CleaningEvent, MethodTerms, PriceList
from qa.forms.measures import MeasuredForm
from qa.forms.rowsets import rows_sent, rows_to_send


class CleaningForm(MeasuredForm[CleaningEvent], OnceForm[CleaningEvent]):
    measures = {
        "material_out_kg": Quantity.MASS,
        "material_in_kg": Quantity.MASS,
        "depth_out_mm": Quantity.SHORT_LENGTH,
        "pressure_bar": Quantity.PRESSURE,
    }

    class Meta:
        model = CleaningEvent
        fields = (
            "cleaned_on",
            "method",
            "share_of_area",
            "wetness",
            "passes",
            "pressure_bar",
            "depth_out_mm",
            "material_out_kg",
            "material_in_kg",
            "material_in",
            "done_by",
            "equipment",
            "disposal_ticket",
            "disposal_place",
            "cost",
            "note",
        )
        labels = {"method": _lazy("Method"), "cost": _lazy("Cost"), "note": _lazy("Note")}
        widgets = {
            "cleaned_on": DayInput(),
            "method": forms.RadioSelect,
            "wetness": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, methods in ASKED_BY.items():
            self.fields[name].widget.attrs["data-asked-by"] = " ".join(sorted(methods))
        show_unit(self.fields["cost"], self.instance.surface.organisation.currency)
        self.fields["method"].choices = _methods_for(  # type: ignore[attr-defined]
            self.instance.surface.surface_type, self.initial.get("method", "")
        )


def _methods_for(surface_type: str, entered: str = "") -> list[tuple[str, str]]:
    """Suited methods first, then others that can be done to such a surface, and what an earlier entry says."""
    suited, names = suited_methods(surface_type), dict(CleaningMethod.choices())
    possible: tuple[str, ...] = possible_methods(surface_type)
    if entered and entered not in possible:
        possible = (*possible, entered)
    return [
        (m, names[m] if m in suited else _("{method} (not usual here)").format(method=names[m]))
        for m in possible
    ]


class TermsForm(MeasuredForm[MethodTerms]):
    """Whether a method is offered, its prices and its output. A price that the price list has is changed there."""

    measures = {"output_m2_h": Quantity.OUTPUT}
    prices = {"cost_per_m2": (Quantity.PRICE_BY_AREA, _lazy("Cost for each {unit}"))}

    class Meta:
        model = MethodTerms
        fields = (
            "offered",
            "cost_per_m2",
            "minimum_charge",
            "output_m2_h",
            "foot_after_h",
            "vehicles_after_h",
        )
        labels = {"minimum_charge": _lazy("Minimum charge")}

    def __init__(self, *args: Any, prices: PriceList | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if prices and prices.methods.of(self.instance.method):
            self.fields["cost_per_m2"].disabled = self.fields["minimum_charge"].disabled = True


class TestVisitForm(FreshForm[Organisation]):
    """What a test costs, among the prices of the firm."""

    __test__ = False

    class Meta:
        model = Organisation
        fields = ("test_visit_price",)

    def __init__(self, *args: Any, prices: PriceList | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["test_visit_price"].disabled = prices is not None and prices.test_price is not None


class TermsRows(BaseModelFormSet):  # type: ignore[type-arg]
    """Prices of the firm's own rows; a row that is not among them is left out, as if it had not been sent."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.is_bound:
            mine = {str(row.pk) for row in self.get_queryset()}
            sent = [row for row in rows_sent(self.data, str(self.prefix)) if row.get("id") in mine]
            self.data = rows_to_send(str(self.prefix), sent, [])


TermsFormSet = modelformset_factory(MethodTerms, form=TermsForm, formset=TermsRows, extra=0, can_delete=False)
