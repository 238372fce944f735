"""Form fields for measured values: typed in the person's units, stored in SI."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Model
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models.tenancy import M
from core.calc.nominal import inches_text, plain_number
from core.calc.units import Quantity, UnitSystem, from_display, to_display, unit_of
from core.forms.parts import DECIMAL
from core.forms.prices import PricedForm

TOO_SMALL = gettext_noop("%(value)s %(unit)s is too small. Give %(end)s %(unit)s or more.")
TOO_LARGE = gettext_noop("%(value)s %(unit)s is too large. Give %(end)s %(unit)s or less.")
READ_DIGITS, TYPED_DIGITS = 4, 10
NOISE = 1e-15  # of converting there and back, of the number or of the offset of a scale
# A number input takes no fractions, and the keys of a decimal pad have no stroke.
FRACTIONS = {"inputmode": "text", "autocomplete": "off"}


class MeasureField(forms.FloatField):
    """A number with a unit beside it. `system` is set by the form, from who is looking.

    lowest, highest: what is allowed, in SI; None where there is no end.
    """

    def __init__(
        self,
        *,
        quantity: Quantity,
        lowest: float | None = None,
        highest: float | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.quantity = quantity
        self.lowest, self.highest = lowest, highest
        self.system = UnitSystem.SI
        self.in_fractions = False

    def speak(self, system: UnitSystem) -> None:
        """Take and show the number in a system; sizes in inches also as fractions, such as 2 1/2."""
        self.system = system
        self.in_fractions = system is UnitSystem.US and self.quantity is Quantity.SHORT_LENGTH
        if self.in_fractions:
            self.widget = forms.TextInput(attrs=FRACTIONS)
            self.widget.is_required = self.required

    @property
    def unit(self) -> str:
        """The unit to show beside the input."""
        return unit_of(self.quantity, self.system)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        typed = plain_number(value) if self.in_fractions and isinstance(value, str) else value
        number = super().to_python(typed)
        return None if number is None else from_display(number, self.quantity, self.system)

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        if self.lowest is not None and value < self.lowest:
            raise forms.ValidationError(_(TOO_SMALL), params=self._said(value, self.lowest), code="min_value")
        if self.highest is not None and value > self.highest:
            raise forms.ValidationError(
                _(TOO_LARGE), params=self._said(value, self.highest), code="max_value"
            )

    def _said(self, value: float, end: float) -> dict[str, str]:
        """Value and end as the person reads them: an end in other units than those typed misleads."""
        return {"value": self._shown(value, 8), "end": self._shown(end, 4), "unit": self.unit}

    def _shown(self, number: float, digits: int) -> str:
        shown = to_display(number, self.quantity, self.system).value
        if self.in_fractions:
            return inches_text(shown, digits)
        text = f"{shown:.{digits}g}"
        return f"{shown:.0f}" if "e+" in text else text

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int | float):
            return value  # what was typed comes back as typed
        shown = to_display(float(value), self.quantity, self.system).value
        return self._short(shown)

    def _short(self, shown: float) -> str:
        """What was typed in these units as it was typed; what comes from others rounded, not to eight figures.

        A text that still stands as it was shown is not read back, so rounding loses nothing.
        """
        as_typed = f"{shown:.{TYPED_DIGITS}g}"
        if self.system is UnitSystem.US and abs(float(as_typed) - shown) > NOISE * max(abs(shown), 64):
            as_typed = f"{shown:.{max(READ_DIGITS, len(str(int(abs(shown)))))}g}"
        if self.in_fractions:
            return inches_text(float(as_typed), TYPED_DIGITS)
        return f"{shown:.0f}" if "e+" in as_typed else as_typed

    def has_changed(self, initial: Any, data: Any) -> bool:
        return str(self.prepare_value(initial) if initial is not None else "") != str(data or "")


class MeasuredForm(PricedForm[M]):
    """A model form whose `measures`, and `prices` by area or mass, are typed in the units of the person who looks."""

    measures: dict[str, Quantity] = {}

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        for name, quantity in self.measures.items():
            if name in self.fields:
                plain, ends = self.fields[name], _ends_of(self._meta.model, name)
                self.fields[name] = _measured(plain, quantity, UnitSystem(units), ends)

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


def _ends_of(model: type[Model], name: str) -> dict[str, float]:
    """What the model allows for a field."""
    ends = {}
    for validator in model._meta.get_field(name).validators:  # type: ignore[union-attr]
        if isinstance(validator, MinValueValidator):
            ends["lowest"] = validator.limit_value
        elif isinstance(validator, MaxValueValidator):
            ends["highest"] = validator.limit_value
    return ends


def _measured(
    plain: forms.Field, quantity: Quantity, system: UnitSystem, ends: dict[str, float]
) -> MeasureField:
    field = MeasureField(
        quantity=quantity,
        **ends,
        required=plain.required,
        label=str(plain.label).split(" (")[0],
        help_text=plain.help_text,
        initial=plain.initial,
        widget=forms.NumberInput(attrs=DECIMAL),
    )
    field.speak(system)
    return field
