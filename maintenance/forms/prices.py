"""Text to typed values for price lists."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.currency import minor_units
from core.calc.marks import marked
from core.calc.paving import CleaningMethod
from core.calc.units import Quantity
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, Group, show_unit
from core.forms.prices import TOO_FINE, PriceField
from core.models.decimals import DecimalEntry
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.models import PriceList

MATERIAL = "material_kg_price"
NOT_LISTED = gettext_noop(
    "Both empty: the list has no price for it, quotes ask for one, and advice keeps the price it reckoned with. "
    "What you do not offer is unticked with the terms of your ways of cleaning."
)
BOTH = gettext_noop("Give both prices, or neither: where there is no minimum it is 0.")
FINEST = 2  # decimals of a price, where the currency has no finer ones


class PriceListForm(OnceForm[PriceList]):
    """A new list: tax, prices of visits, and two prices for each way of cleaning."""

    class Meta:
        model = PriceList
        fields = (
            "valid_from",
            "tax_name",
            "tax_percent",
            "prices_include_tax",
            "test_price",
            "inspection_price",
            "call_out_price",
            "material_kg_price",
            "note",
        )
        labels = {"note": _lazy("Note")}
        widgets = {"valid_from": DayInput(), "note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.units = units
        self.money = [name for name in self.fields if name.endswith("_price")]
        self.money.remove(MATERIAL)
        material = PriceField(
            quantity=Quantity.PRICE_BY_MASS,
            label=_("Joint material, for each {unit}"),
            help_text=self.fields[MATERIAL].help_text,
            **self._in_units(units),
        )
        self.fields[MATERIAL] = material
        for method in CleaningMethod:
            self._add_method(method, units)
        for name in self.money:
            self.fields[name].widget.attrs |= DECIMAL
            show_unit(self.fields[name], self.instance.organisation.currency)

    def _in_units(self, units: str) -> dict[str, Any]:
        """What fields of prices by area or mass have in common."""
        return {"units": units, "currency": self.instance.organisation.currency, "required": False}

    def _add_method(self, method: CleaningMethod, units: str) -> None:
        self.fields[f"{method}-m2"] = PriceField(
            quantity=Quantity.PRICE_BY_AREA, label=_("for each {unit}"), **self._in_units(units)
        )
        self.fields[f"{method}-minimum"] = DecimalEntry(
            label=_("minimum, a site"), required=False, min_value=Decimal(0), max_digits=14
        )
        self.money.append(f"{method}-minimum")

    @property
    def groups(self) -> list[Group]:
        """The fields as the page shows them."""
        tax = ("valid_from", "tax_name", "tax_percent", "prices_include_tax")
        visits = ("test_price", "inspection_price", "call_out_price", "material_kg_price")
        methods = [
            Group(
                m.label,
                [self[f"{m}-m2"], self[f"{m}-minimum"]],
                _(NOT_LISTED),
            )
            for m in CleaningMethod
        ]
        return [
            Group(_("From when, and the tax"), [self[name] for name in tax]),
            Group(_("Visits and material"), [self[name] for name in visits]),
            *methods,
            Group(_("Note"), [self["note"]], _("For the office. Owners do not read it."), grid=False),
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self._keep_as_stored(cleaned)
        found = []
        for method in CleaningMethod:
            per_m2, minimum = cleaned.get(f"{method}-m2"), cleaned.get(f"{method}-minimum")
            if (per_m2 is None) != (minimum is None):
                self.add_error(f"{method}-{'m2' if per_m2 is None else 'minimum'}", _(BOTH))
            elif per_m2 is not None and minimum is not None:
                found.append(MethodPrice(method, per_m2, minimum))
        self.instance.methods = MethodPrices(tuple(found))
        self._refuse_too_fine(cleaned)
        if cleaned.get("tax_percent") and not cleaned.get("tax_name"):
            self.add_error("tax_name", _("Name the tax that is charged at this rate."))
        return cleaned

    def _keep_as_stored(self, cleaned: dict[str, Any]) -> None:
        """A price of the list before, which still stands as it was shown in these units, stays as it is."""
        for name, field in self.fields.items():
            if isinstance(field, PriceField) and name in cleaned:
                stored = self.get_initial_for_field(field, name)
                cleaned[name] = field.kept(stored, self.data.get(self.add_prefix(name)), cleaned[name])

    def _refuse_too_fine(self, cleaned: dict[str, Any]) -> None:
        digits = max(FINEST, minor_units(self.instance.organisation.currency))
        for name in self.money:
            value = cleaned.get(name)
            if value is not None and value != value.quantize(Decimal(1).scaleb(-digits)):
                said = _(TOO_FINE)
                self.add_error(name, said.format(value=marked(str(value)), digits=digits))


def as_before(prices: PriceList | None, terms: Any, organisation: Any) -> dict[str, Any]:
    """What a new list starts from: the list before it, else the terms that advice reckons with."""
    if prices is None:
        offered = {method: row for method, row in terms.items() if row.offered}
        found = {f"{m}-m2": row.cost_per_m2 for m, row in offered.items()}
        found |= {f"{m}-minimum": row.minimum_charge for m, row in offered.items()}
        return found | {"test_price": organisation.test_visit_price}
    names = [name for name in PriceListForm.Meta.fields if name not in ("valid_from", "note")]
    found = {name: getattr(prices, name) for name in names}
    for price in prices.methods.prices:
        found |= {f"{price.method}-m2": price.per_m2, f"{price.method}-minimum": price.minimum}
    return {name: _plain(value) for name, value in found.items()}


def _plain(value: Any) -> Any:
    """A stored price without the decimals that only the column has."""
    if not isinstance(value, Decimal):
        return value
    short = value.normalize()
    exponent = short.as_tuple().exponent
    return short.quantize(Decimal("0.01")) if isinstance(exponent, int) and exponent > -FINEST else short
