"""Text to typed values for the build-up and the test locations."""

from collections.abc import Sequence
from math import inf
from typing import Any

from django import forms
from django.forms import inlineformset_factory
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.units import Quantity, UnitSystem
from core.forms.parts import DECIMAL
from qa.calc.buildups import SHEETS, LayerKind, TypicalLayer, typical_layers
from qa.calc.kept_layers import as_typical
from qa.forms.measures import MeasuredForm
from qa.forms.rowsets import MOST_ROWS, RemovableRows
from qa.models import Layer, Location, Surface
from qa.models.buildups import NO_THICKNESS

SPARE_LAYERS = 2
SPARE_LOCATIONS = 3


class LayerForm(MeasuredForm[Layer]):
    place = forms.FloatField(
        label=_lazy("Place from the top"),
        required=False,
        min_value=0,
        help_text=_lazy("2.5 puts it between 2 and 3. Empty: at the bottom."),
        widget=forms.NumberInput(attrs=DECIMAL),
    )
    measures = {
        "thickness_mm": Quantity.SHORT_LENGTH,
        "stone_min_mm": Quantity.SHORT_LENGTH,
        "stone_max_mm": Quantity.SHORT_LENGTH,
    }

    class Meta:
        model = Layer
        fields = ("place", "kind", "material", "thickness_mm", "stone_min_mm", "stone_max_mm", "porosity")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.instance._state.adding:
            self.initial["place"] = self.instance.position

    @property
    def called(self) -> str:
        """The kind of the layer where one is chosen."""
        kinds: dict[str, str] = dict(LayerKind.choices())
        return kinds.get(str(self["kind"].value() or ""), _("Another layer"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("kind")
        if kind and kind not in NO_THICKNESS and "thickness_mm" in cleaned and not cleaned["thickness_mm"]:
            self.add_error("thickness_mm", _("This layer needs a thickness."))
        if kind in SHEETS and cleaned.get("porosity"):
            self.add_error("porosity", _("A geotextile or liner stores no water. Leave the porosity empty."))
        return cleaned


class OrderedLayers(RemovableRows):
    """Layers from the top down, in the order of the rows."""

    in_order = True
    begins: tuple[TypicalLayer, ...] = ()

    def _construct_form(self, i: int, **kwargs: Any) -> Any:
        form = super()._construct_form(i, **kwargs)  # type: ignore[misc]
        # A suggested row that is left as it stands is meant, though nothing in it was changed.
        form.prefilled = i >= self.initial_form_count() and bool(form.initial.get("kind"))
        form.empty_permitted = form.empty_permitted and not form.prefilled
        form.is_spare = form.empty_permitted and not form.has_changed()
        if i:  # said once, above
            for field in form.fields.values():
                field.help_text = ""
        return form

    def as_shown(self) -> tuple[TypicalLayer, ...]:
        """The layers that an unsent page shows: those that are stored, and those it starts with."""
        return as_typical(self.get_queryset()) + self.begins

    def from_the_top(self) -> list[Any]:
        """Rows that stay, in the order of their places; rows without one keep their order at the bottom."""
        return sorted((form for form in self.forms if _filled(form)), key=_place)

    def clean(self) -> None:
        super().clean()
        kinds = [f.cleaned_data.get("kind") for f in self.from_the_top()]
        if "subgrade" in kinds[:-1]:
            raise forms.ValidationError(
                _("The subgrade must be the last layer: layers go from the top down.")
            )


def _place(form: forms.BaseForm) -> float:
    place = form.cleaned_data.get("place")
    return inf if place is None else place


def _filled(form: forms.BaseForm) -> bool:
    cleaned = getattr(form, "cleaned_data", {})
    return bool(cleaned.get("kind")) and not cleaned.get("DELETE")


class KeepAsForm(forms.Form):
    """Whether the layers are kept to start others from."""

    keep_as = forms.CharField(
        label=_lazy("Keep these layers for other surfaces, under the name"),
        max_length=80,
        required=False,
        help_text=_lazy(
            "They are then offered wherever a build-up begins. What had this name before is replaced."
        ),
    )


def layer_formset(
    surface: Surface,
    units: str,
    data: Any = None,
    *,
    bound_bed: bool = False,
    start: Sequence[TypicalLayer] = (),
) -> Any:
    """Rows for the layers; an empty build-up starts with the usual layers of its type and traffic.

    bound_bed: start with units on a bound bed. start: layers to start with in place of the usual ones.
    """
    usual = (
        ()
        if surface.layers.exists()
        else start
        or typical_layers(surface.surface_type, surface.traffic, UnitSystem(units), bound_bed=bound_bed)
    )
    begins = [vars_of(layer) | {"place": place} for place, layer in enumerate(usual, start=1)]
    factory = inlineformset_factory(
        Surface,
        Layer,
        form=LayerForm,
        formset=OrderedLayers,
        extra=len(begins) + SPARE_LAYERS,
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )
    rows: Any = factory(data, instance=surface, prefix="layers", initial=begins, form_kwargs={"units": units})
    rows.begins = tuple(usual)
    return rows


def vars_of(layer: Any) -> dict[str, Any]:
    """Field values of a typical layer."""
    return {name: getattr(layer, name) for name in LayerForm.Meta.fields if name != "place"}


class LocationForm(MeasuredForm[Location]):
    measures = {"x_m": Quantity.LENGTH, "y_m": Quantity.LENGTH}

    class Meta:
        model = Location
        fields = ("label", "zone", "description", "x_m", "y_m")


def location_formset(surface: Surface, units: str, data: Any = None) -> Any:
    """Rows for the fixed test locations."""
    factory = inlineformset_factory(
        Surface,
        Location,
        form=LocationForm,
        formset=RemovableRows,
        extra=SPARE_LOCATIONS,
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )
    rows = Location.objects.filter(retired=False)
    return factory(data, instance=surface, prefix="locations", queryset=rows, form_kwargs={"units": units})
