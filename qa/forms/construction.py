"""Text to typed values for construction records."""

from typing import Any

from django import forms
from django.utils.html import escape
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.nominal import spoken
from core.calc.units import Quantity, UnitSystem
from core.forms.files import WithFiles
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, show_unit
from qa.calc.check_units import STORED_UNITS, quantity_of, shown_unit, stored_value
from qa.calc.checks import BOUND_BEDS
from qa.calc.sampling import basis_words
from qa.forms.measures import MeasuredForm, MeasureField
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.services.assembly import part_names

DAY = {"done_on": DayInput()}
OWN_CHECK_HELP = {
    "asked": gettext_noop("One sentence, such as: The kerb stands {20 mm|3/4 in} above the paving."),
    "unit": gettext_noop(
        "Leave it empty for a yes or no. Bounds are in this unit: {mm, mm/h, °C|in, in/h, °F}, %, h or another."
    ),
}
LIFT_HELP = _lazy("Lift and place, such as: lift 1, B3. Readings of one lift count together.")
ANSWERS = (("yes", _lazy("Yes, as asked")), ("no", _lazy("No")))


class OpenRecordForm(OnceForm[ConstructionRecord]):
    """What decides the assembly of checks."""

    parts = forms.MultipleChoiceField(
        label=_lazy("parts of the build-up"),
        choices=part_names,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_lazy("Untick what this build-up does not have; its checks are then left out."),
    )

    class Meta:
        model = ConstructionRecord
        fields = ("heaviest_use", "bound_bed", "subgrade_cbr")
        widgets = {"heaviest_use": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        show_unit(self.fields["subgrade_cbr"], "%")
        if self.instance.surface.surface_type not in BOUND_BEDS:
            del self.fields["bound_bed"]


class EntryForm(WithFiles, OnceForm[CheckEntry]):
    """One finding: a reading in the person's units, or yes or no, by what the check asks."""

    class Meta:
        model = CheckEntry
        fields = ("reading", "where", "done_on", "note")
        widgets = DAY | {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, check: ConstructionCheck, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.check_row = check
        self.instance.units = units
        if check.as_check.is_number:
            self.fields["reading"] = _reading_field(check, UnitSystem(units))
        else:
            self.fields["reading"] = forms.ChoiceField(
                label=_lazy("Is it as asked?"), choices=ANSWERS, widget=forms.RadioSelect
            )
        if check.each:
            self.fields["where"].label = _("Which {each}").format(each=_(check.each))
            if check.each == "lift":
                self.fields["where"].help_text = LIFT_HELP
        else:
            del self.fields["where"]

    @property
    def answer(self) -> bool | None:
        """Yes or no, for a check without a number."""
        if self.check_row.as_check.is_number:
            return None
        return self.cleaned_data.get("reading") == "yes"

    def _post_clean(self) -> None:
        typed = self.cleaned_data.get("reading")
        if not self.check_row.as_check.is_number:
            self.cleaned_data["reading"] = None
        elif self.initial.get("reading") is not None and not self._read_anew():
            self.cleaned_data["reading"] = self.initial["reading"]
            self.instance.units = self.initial.get("units", self.instance.units)
        typed = self.cleaned_data.get("reading") if self.check_row.as_check.is_number else typed
        super()._post_clean()
        self.cleaned_data["reading"] = typed

    def _read_anew(self) -> bool:
        """Whether another number was typed than the one shown; one read in other units is not rounded on the way."""
        return self.fields["reading"].has_changed(
            self.initial["reading"], self.data.get(self.add_prefix("reading"))
        )


def _reading_field(check: ConstructionCheck, system: UnitSystem) -> forms.FloatField:
    widget = forms.NumberInput(attrs=DECIMAL)
    quantity = quantity_of(check.unit)
    if quantity:
        field = MeasureField(quantity=quantity, label=_lazy("Reading"), widget=widget)
        field.speak(system)
        return field
    plain = forms.FloatField(label=_lazy("Reading"), widget=widget)
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
    """A check of the job's own; bounds in inches, in/h, °F or lb/ft³ are kept in SI and judged as they were typed."""

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
            "each": _lazy("Such as: level, delivery, joint. Leave it empty for one reading."),
            "source": _lazy("Such as: drawing 12, specification section 32 14 43, data sheet."),
        }

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, text in OWN_CHECK_HELP.items():
            self.fields[name].help_text = spoken(_(text), UnitSystem(units))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        stored = STORED_UNITS.get(cleaned.get("unit", "").strip())
        if stored:
            self.instance.least_us, self.instance.most_us = cleaned.get("least"), cleaned.get("most")
            tolerance = cleaned.get("against_design", False)
            for name in ("least", "most", "design"):
                if cleaned.get(name) is not None:
                    cleaned[name] = _in_si(
                        cleaned[name], stored, as_difference=tolerance and name != "design"
                    )
            cleaned["unit"] = stored
        return cleaned


def _in_si(value: float, unit: str, *, as_difference: bool) -> float:
    """A bound of a US unit in SI. as_difference: it is a tolerance, so a scale's offset does not count."""
    found = stored_value(value, unit, UnitSystem.US)
    return found - stored_value(0.0, unit, UnitSystem.US) if as_difference else found


class CriterionForm(MeasuredForm[ConstructionCheck]):
    """What is asked by this job: bounds, designed value, number of readings."""

    reason = forms.CharField(
        label=_lazy("By what"),
        max_length=240,
        help_text=_lazy("Such as: specification section 32 14 43, drawing 12. It is printed as the source."),
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
        self.fields["readings_asked"].help_text = escape(
            basis_words(check.readings_basis)
        )  # a help text is markup
        if units == UnitSystem.US:
            self._show_as_printed(check)

    def _show_as_printed(self, check: ConstructionCheck) -> None:
        """Bounds that are printed in inches stand as they are printed, not as converted."""
        for name, printed in (("least", check.least_us), ("most", check.most_us)):
            if name in self.fields and printed is not None:
                self.initial[name] = stored_value(printed, check.unit, UnitSystem.US)

    def kept_value(self, name: str) -> Any:
        """The stored bound where it still stands as it was shown."""
        field = self.fields[name]
        unchanged = not field.has_changed(self.initial.get(name), self.data.get(self.add_prefix(name)))
        return getattr(self.instance, name) if unchanged else None


def _measures(check: ConstructionCheck, quantity: Quantity | None) -> dict[str, Quantity]:
    return dict.fromkeys(("least", "most", "design"), quantity) if quantity else {}
