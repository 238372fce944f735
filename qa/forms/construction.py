"""Text to typed values for construction records."""

from typing import Any

from django import forms

from core.calc.units import Quantity, UnitSystem
from core.forms.files import WithFiles
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, show_unit
from qa.calc.check_units import quantity_of, shown_unit
from qa.forms.measures import MeasuredForm, MeasureField
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.services.assembly import PART_NAMES

DAY = {"done_on": DayInput()}
ANSWERS = (("yes", "Yes, as asked"), ("no", "No"))


class OpenRecordForm(OnceForm[ConstructionRecord]):
    """What decides the assembly of checks."""

    parts = forms.MultipleChoiceField(
        label="parts of the build-up",
        choices=list(PART_NAMES.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Untick what this build-up does not have; its checks are then left away.",
    )

    class Meta:
        model = ConstructionRecord
        fields = ("heaviest_use", "subgrade_cbr")
        widgets = {"heaviest_use": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        show_unit(self.fields["subgrade_cbr"], "%")


class EntryForm(WithFiles, OnceForm[CheckEntry]):
    """One finding: a reading in the person's units, or yes or no, by what the check asks."""

    class Meta:
        model = CheckEntry
        fields = ("reading", "where", "done_on", "note")
        widgets = DAY | {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, check: ConstructionCheck, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.check_row = check
        if check.as_check.is_number:
            self.fields["reading"] = _reading_field(check, UnitSystem(units))
        else:
            self.fields["reading"] = forms.ChoiceField(
                label="Is it as asked?", choices=ANSWERS, widget=forms.RadioSelect
            )
        if check.each:
            self.fields["where"].label = f"Which {check.each}"
        else:
            del self.fields["where"]

    @property
    def answer(self) -> bool | None:
        """Yes or no, for a check without a number."""
        if self.check_row.as_check.is_number:
            return None
        return self.cleaned_data.get("reading") == "yes"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        check = self.check_row
        if check.against_design and check.design is None:
            self.add_error(
                None, "The designed value is missing. Enter it under 'Change what is asked' first."
            )
        return cleaned

    def _post_clean(self) -> None:
        typed = self.cleaned_data.get("reading")
        if not self.check_row.as_check.is_number:
            self.cleaned_data["reading"] = None
        super()._post_clean()
        self.cleaned_data["reading"] = typed


def _reading_field(check: ConstructionCheck, system: UnitSystem) -> forms.FloatField:
    widget = forms.NumberInput(attrs=DECIMAL)
    quantity = quantity_of(check.unit)
    if quantity:
        field = MeasureField(quantity=quantity, label="Reading", widget=widget)
        field.system = system
        return field
    plain = forms.FloatField(label="Reading", widget=widget)
    show_unit(plain, shown_unit(check.unit, system))
    return plain


class LeaveOutForm(OnceForm[CheckEntry]):
    class Meta:
        model = CheckEntry
        fields = ("done_on", "reason")
        widgets = DAY | {"reason": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].required = True


class WorkForm(WithFiles, OnceForm[CorrectiveWork]):
    class Meta:
        model = CorrectiveWork
        fields = ("what", "done_by", "done_on")
        widgets = DAY | {"what": forms.Textarea(attrs={"rows": 3})}


class OwnCheckForm(OnceForm[ConstructionCheck]):
    """A check of the job's own."""

    class Meta:
        model = ConstructionCheck
        fields = (
            "stage",
            "asked",
            "otherwise",
            "unit",
            "least",
            "most",
            "against_design",
            "design",
            "hold_point",
            "each",
            "readings_asked",
            "source",
        )
        help_texts = {
            "asked": "One sentence, such as: The kerb stands 20 mm above the paving.",
            "unit": "Leave it empty for a yes or no. Bounds are in this unit: mm, mm/h, %, h, °C or another.",
            "each": "Such as: level, delivery, joint. Leave it empty for one reading.",
            "source": "Such as: drawing 12, specification section 32 14 43, data sheet.",
        }


class CriterionForm(MeasuredForm[ConstructionCheck]):
    """What is asked by this job: bounds, designed value, number of readings."""

    reason = forms.CharField(
        label="By what",
        max_length=240,
        help_text="Such as: specification section 32 14 43, drawing 12. It is printed as the source.",
    )

    class Meta:
        model = ConstructionCheck
        fields = ("least", "most", "design", "readings_asked")

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        check = kwargs["instance"]
        quantity = quantity_of(check.unit)
        self.measures = _measures(check, quantity)
        super().__init__(*args, units=units, **kwargs)
        if not check.as_check.is_number:
            del self.fields["least"], self.fields["most"]
        if not check.against_design:
            del self.fields["design"]
        for name in ("least", "most", "design"):
            if name in self.fields and not quantity:
                show_unit(self.fields[name], check.unit)


def _measures(check: ConstructionCheck, quantity: Quantity | None) -> dict[str, Quantity]:
    return dict.fromkeys(("least", "most", "design"), quantity) if quantity else {}
