"""Prices by area or mass: typed and shown for each unit the person prefers, stored for each m² or kg."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.marks import marked
from core.calc.units import (
    MEASURED_BY,
    PRICE_DECIMALS,
    Quantity,
    UnitSystem,
    price_from_display,
    price_to_display,
    shortened,
    unit_of,
)
from core.forms.fresh import FreshForm, M
from core.forms.parts import DECIMAL
from core.models.decimals import DecimalEntry

TOO_FINE = gettext_noop("{value} has more than {digits} decimals. Round it.")
TOO_SMALL = gettext_noop("%(value)s %(unit)s is too small. Give %(end)s %(unit)s or more.")
TOO_LARGE = gettext_noop("%(value)s %(unit)s is too large. Give %(end)s %(unit)s or less.")
# Translators: unit is "m²" or "ft²".
WORTH = _lazy("A year within the limit is worth, for each {unit}")
MOST = Decimal(999_999)  # for each m² or kg: what the columns hold


class PriceField(DecimalEntry):
    """A price for each unit of area or mass. Its label may name the unit: {unit}."""

    def __init__(
        self, *, quantity: Quantity, units: str = "si", currency: str = "", label: Any, **kwargs: Any
    ) -> None:
        self.quantity, self.system, self.currency = quantity, UnitSystem(units), currency
        named = str(label).format(unit=unit_of(MEASURED_BY[quantity], self.system))
        super().__init__(label=named, min_value=Decimal(0), **kwargs)
        self.widget.attrs |= DECIMAL

    @property
    def unit(self) -> str:
        """The unit to show beside the input: "EUR/m²"."""
        return f"{self.currency}{unit_of(self.quantity, self.system)}"

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        typed: Decimal | None = super().to_python(value)
        if typed is None:
            return typed
        if typed < 0:
            raise forms.ValidationError(_(TOO_SMALL), params=self._said(typed, "0"), code="min_value")
        most = price_to_display(MOST, self.quantity, self.system)
        if typed > most:
            raise forms.ValidationError(_(TOO_LARGE), params=self._said(typed, f"{most:f}"), code="max_value")
        if typed != round(typed, PRICE_DECIMALS):
            said = _(TOO_FINE).format(value=marked(f"{typed:f}"), digits=PRICE_DECIMALS)
            raise forms.ValidationError(said, code="max_decimal_places")
        return price_from_display(typed, self.quantity, self.system)

    def _said(self, typed: Decimal, end: str) -> dict[str, str]:
        """The price and what is allowed, as the person reads them."""
        return {"value": f"{typed:f}", "end": end, "unit": self.unit}

    def clean(self, value: Any) -> Any:
        """A shut field gives back what is stored, which was never typed."""
        return value if self.disabled else super().clean(value)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal):
            return value  # what was typed comes back as typed
        if self.system is UnitSystem.SI:
            return f"{shortened(value):f}"
        return f"{price_to_display(value, self.quantity, self.system):f}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        shown = "" if initial is None else str(self.prepare_value(initial))
        return not self.disabled and shown != str("" if data is None else data).strip()

    def kept(self, stored: Any, sent: Any, read: Any) -> Any:
        """What was read from the text sent; what is stored where it stands as it was shown, so nothing creeps."""
        return read if stored is None or self.has_changed(stored, sent) else stored


class PricedForm(FreshForm[M]):
    """A model form whose `prices`, by area or mass, are typed for each unit of the person who looks."""

    prices: dict[str, tuple[Quantity, Any]] = {}  # with the label of each

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, (quantity, label) in self.prices.items():
            plain = self.fields.get(name)
            if plain:
                self.fields[name] = PriceField(
                    quantity=quantity,
                    units=units,
                    currency=self._currency(),
                    label=label,
                    required=plain.required,
                    help_text=plain.help_text,
                    initial=plain.initial,
                )

    def _currency(self) -> str:
        """Of the firm whose row it is, or that is the row."""
        row: Any = self.instance
        return str(getattr(row, "organisation", row).currency)

    def _post_clean(self) -> None:
        for name in self.prices:
            field: Any = self.fields.get(name)
            if field and name in self.cleaned_data and self.instance.pk:
                sent, stored = self.data.get(self.add_prefix(name)), getattr(self.instance, name)
                self.cleaned_data[name] = field.kept(stored, sent, self.cleaned_data[name])
        super()._post_clean()  # type: ignore[misc]
