"""Form fields for measured values: typed in the person's units, stored in SI."""

from typing import Any

from django import forms

from qa.calc.units import Quantity, UnitSystem, from_display, to_display, unit_of


class MeasureField(forms.FloatField):
    """A number with a unit beside it. `system` is set by the form, from who is looking."""

    def __init__(self, *, quantity: Quantity, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.quantity = quantity
        self.system = UnitSystem.SI

    @property
    def unit(self) -> str:
        """The unit to show beside the input."""
        return unit_of(self.quantity, self.system)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        number = super().to_python(value)
        return None if number is None else from_display(number, self.quantity, self.system)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int | float):
            return value  # what was typed comes back as typed
        shown = to_display(float(value), self.quantity, self.system).value
        return f"{shown:.8g}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        return str(self.prepare_value(initial) if initial is not None else "") != str(data or "")


class MeasuredForm(forms.ModelForm):
    """A model form whose `measures` are typed in the units of the person who looks."""

    measures: dict[str, Quantity] = {}

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, quantity in self.measures.items():
            if name in self.fields:
                self.fields[name] = _measured(self.fields[name], quantity, UnitSystem(units))

    def kept_value(self, name: str) -> Any:
        """The stored SI value where the typed text still stands as it was shown, so nothing creeps."""
        field = self.fields[name]
        stored = getattr(self.instance, name)
        return stored if not field.has_changed(stored, self.data.get(self.add_prefix(name))) else None

    def _post_clean(self) -> None:
        for name in self.measures:
            if name in self.cleaned_data and self.instance.pk:
                kept = self.kept_value(name)
                if kept is not None:
                    self.cleaned_data[name] = kept
        super()._post_clean()  # type: ignore[misc]


def _measured(plain: forms.Field, quantity: Quantity, system: UnitSystem) -> MeasureField:
    field = MeasureField(
        quantity=quantity,
        required=plain.required,
        label=str(plain.label).split(" (")[0],
        help_text=plain.help_text,
        initial=plain.initial,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )
    field.system = system
    return field
