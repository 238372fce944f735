"""Text to typed values for the build-up and the test locations."""

from typing import Any

from django import forms
from django.forms import BaseInlineFormSet, inlineformset_factory

from qa.calc.buildups import typical_layers
from qa.calc.units import Quantity
from qa.forms.measures import MeasuredForm
from qa.models import Layer, Location, Surface
from qa.models.buildups import NO_THICKNESS, SHEETS

SPARE_LAYERS = 2
SPARE_LOCATIONS = 3


class LayerForm(MeasuredForm):
    measures = {
        "thickness_mm": Quantity.SHORT_LENGTH,
        "stone_min_mm": Quantity.SHORT_LENGTH,
        "stone_max_mm": Quantity.SHORT_LENGTH,
    }

    class Meta:
        model = Layer
        fields = ("kind", "material", "thickness_mm", "stone_min_mm", "stone_max_mm", "porosity")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("kind")
        if kind and kind not in NO_THICKNESS and "thickness_mm" in cleaned and not cleaned["thickness_mm"]:
            self.add_error("thickness_mm", "This layer needs a thickness.")
        if kind in SHEETS and cleaned.get("porosity"):
            self.add_error("porosity", "A geotextile or liner stores no water. Leave the porosity empty.")
        return cleaned


class OrderedLayers(BaseInlineFormSet):
    """Layers from the top down, in the order of the rows."""

    def _construct_form(self, i: int, **kwargs: Any) -> Any:
        form = super()._construct_form(i, **kwargs)  # type: ignore[misc]
        # A suggested row that is left as it stands is meant, though nothing in it was changed.
        form.prefilled = i >= self.initial_form_count() and bool(form.initial.get("kind"))
        form.empty_permitted = form.empty_permitted and not form.prefilled
        return form

    def clean(self) -> None:
        super().clean()
        kinds = [f.cleaned_data.get("kind") for f in self.forms if _filled(f)]
        if "subgrade" in kinds[:-1]:
            raise forms.ValidationError("The subgrade must be the last layer: layers go from the top down.")


def _filled(form: forms.BaseForm) -> bool:
    cleaned = getattr(form, "cleaned_data", {})
    return bool(cleaned.get("kind")) and not cleaned.get("DELETE")


def layer_formset(surface: Surface, units: str, data: Any = None) -> Any:
    """Rows for the layers; an empty build-up starts with the usual layers of its type."""
    start = (
        [] if surface.layers.exists() else [vars_of(layer) for layer in typical_layers(surface.surface_type)]
    )
    factory = inlineformset_factory(
        Surface,
        Layer,
        form=LayerForm,
        formset=OrderedLayers,
        extra=len(start) + SPARE_LAYERS,
        can_delete=True,
    )
    return factory(data, instance=surface, prefix="layers", initial=start, form_kwargs={"units": units})


def vars_of(layer: Any) -> dict[str, Any]:
    """Field values of a typical layer."""
    return {name: getattr(layer, name) for name in LayerForm.Meta.fields}


class LocationForm(forms.ModelForm):
    class Meta:
        model = Location
        fields = ("label", "zone", "description")


def location_formset(surface: Surface, data: Any = None) -> Any:
    """Rows for the fixed test locations."""
    factory = inlineformset_factory(
        Surface, Location, form=LocationForm, extra=SPARE_LOCATIONS, can_delete=True
    )
    rows = Location.objects.filter(retired=False)
    return factory(data, instance=surface, prefix="locations", queryset=rows)
