"""Text to typed values for sieve analyses and for the firm's own bands."""

from collections.abc import Iterable
from itertools import pairwise
from operator import attrgetter
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from accounts.models import Organisation
from core.calc.nominal import spoken
from core.calc.units import UnitSystem
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, Group, bound_fields, show_unit
from qa.calc.band_starts import BandStart
from qa.calc.gradation import BANDS, Band, asked_words
from qa.calc.sieves import SIEVE_NAMES, sieve_label
from qa.calc.sieving import SieveEntry, SieveReadings
from qa.forms.limit_choice import OWN_PREFIX
from qa.forms.rowsets import MOST_ROWS, REMOVE
from qa.models import Layer, OwnBand, Sieving, Surface
from qa.selectors.gradation import is_stone

SPARE_ROWS = 8
NO_PAN = gettext_noop("Enter what was left in the pan, 0 for nothing: without it the percentages are wrong.")
OVER_100 = gettext_noop(
    "%(value)g is more than 100 %%. Enter percent passing, or choose mass retained above."
)
TWICE = gettext_noop("The %(sieve)g mm sieve is there twice. Remove one.")
BOTH_ENDS = gettext_noop(
    "Enter both ends, such as 0 and 10, or neither where the band does not name this sieve."
)
NO_LIMITS = gettext_noop("A band needs at least one sieve with its limits. Enter both percentages in a row.")
DISORDER = gettext_noop("The least percent must not be above the greatest.")


def band_choices(organisation: Organisation, units: str) -> list[tuple[str, Any]]:
    """Bands of the firm that are offered, and the sizes of the standard with what the trade calls them."""
    system = UnitSystem(units)
    own = [
        (f"{OWN_PREFIX}{band.pk}", band.name)
        for band in OwnBand.objects.of_organisation(organisation)
        if not band.retired
    ]
    sizes = [
        (key, ", ".join(filter(None, (band.name, spoken(band.common, system)))))
        for key, band in BANDS.items()
    ]
    groups = [("ASTM D448 / AASHTO M 43", sizes)]
    return [(_("The firm's own"), own), *groups] if own else groups


class BandChoiceForm(forms.Form):
    """The first step: which layer the sample is of, and which band it is held to."""

    layer = forms.ModelChoiceField(
        Layer.objects.none(),
        required=False,
        empty_label=_lazy("None of the layers, such as a delivery"),
        label=_lazy("Layer"),
    )
    band = forms.ChoiceField(label=_lazy("Size or band asked for"))

    def __init__(self, *args: Any, surface: Surface, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.organisation = surface.site.organisation
        layers = self.fields["layer"]
        layers.queryset = stone_layers(surface)  # type: ignore[attr-defined]
        layers.label_from_instance = attrgetter("name")  # type: ignore[attr-defined]
        self.fields["band"].choices = band_choices(self.organisation, units)  # type: ignore[attr-defined]

    @property
    def chosen(self) -> str | OwnBand:
        """The designation, or the own band."""
        key: str = self.cleaned_data["band"]
        if not key.startswith(OWN_PREFIX):
            return key
        return OwnBand.objects.of_organisation(self.organisation).get(pk=key.removeprefix(OWN_PREFIX))


def stone_layers(surface: Surface) -> Any:
    """The layers that can be sieved, from the top down."""
    keys = [layer.pk for layer in surface.layers.all() if is_stone(layer, surface)]
    return Layer.objects.filter(Q(pk__in=keys), surface=surface)


def likely_band(layer: Layer | None) -> str:
    """The size that the layer's material names, if any: the longest that fits, so that 8 is not taken for 89."""
    words = layer.material.replace(",", " ").replace(".", " ").split() if layer else []
    # "No. 8, 9 mm clear chip" is size 8: the number after "No" counts before any other.
    numbered = [word for before, word in pairwise(words) if before.casefold() == "no" and word in BANDS]
    fitting = [key for key in BANDS if key in words]
    return numbered[0] if numbered else max(fitting, key=len, default="57")


class SievingForm(OnceForm[Sieving]):
    """One sample: the sieves of its band in order, then the other sieves."""

    class Meta:
        model = Sieving
        fields = (
            "sampled_on",
            "sampled_by",
            "entry",
            "pan_g",
            "dry_mass_g",
            "wash_loss_percent",
            "note",
        )
        widgets = {
            "sampled_on": DayInput(),
            "entry": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        band: Band = self.instance.band
        self.asked = sorted(band.limits, reverse=True)
        self.others = sorted({*SIEVE_NAMES, *self.instance.by_sieve} - {*self.asked}, reverse=True)
        entered = self.instance.by_sieve
        for sieve in (*self.asked, *self.others):
            self.fields[field_name(sieve)] = sieve_field(sieve, band)
            if sieve in entered:
                self.initial[field_name(sieve)] = f"{entered[sieve]:g}"
        for name, unit in (("pan_g", "g"), ("dry_mass_g", "g"), ("wash_loss_percent", "%")):
            self.fields[name].label = str(self.fields[name].label).split(" (")[0].capitalize()
            show_unit(self.fields[name], unit)
            self.fields[name].widget.attrs |= DECIMAL

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        retained = cleaned.get("entry") == SieveEntry.RETAINED
        if retained and cleaned.get("pan_g") is None and "pan_g" not in self.errors:
            self.add_error("pan_g", _(NO_PAN))
        for sieve in (*self.asked, *self.others):
            value = cleaned.get(field_name(sieve))
            if value is not None and value > 100 and not retained:
                over = forms.ValidationError(_(OVER_100), params={"value": value})
                self.add_error(field_name(sieve), over)
        self.instance.readings = self._readings(cleaned)
        return cleaned

    def _readings(self, cleaned: dict[str, Any]) -> SieveReadings:
        values = ((sieve, cleaned.get(field_name(sieve))) for sieve in (*self.asked, *self.others))
        given = ((sieve, value) for sieve, value in values if value is not None)
        return SieveReadings(tuple(sorted(given, reverse=True)))

    @property
    def groups(self) -> list[Group]:
        """In the order of the work: the sample, the sieves from the coarsest down, the pan."""
        return [
            Group(_("The sample"), bound_fields(self, "sampled_on", "sampled_by", "entry")),
            Group(
                _("Sieves of {band}, coarsest first").format(band=self.instance.band.name),
                self._sieves(self.asked),
                _("One way for all: percent passing (%), or the mass on each sieve alone (g)."),
            ),
            Group(
                _("Pan and washing"),
                bound_fields(self, "pan_g", "dry_mass_g", "wash_loss_percent"),
                _("The pan and the dry mass belong to masses; leave them empty with percent passing."),
            ),
        ]

    @property
    def other_sieves(self) -> list[forms.BoundField]:
        """Sieves that the band does not name."""
        return self._sieves(self.others)

    def _sieves(self, sieves: Iterable[float]) -> list[forms.BoundField]:
        return bound_fields(self, *map(field_name, sieves))


def field_name(sieve_mm: float) -> str:
    """The name of a sieve's input."""
    return f"sieve_{sieve_mm:g}".replace(".", "_")


def sieve_field(sieve_mm: float, band: Band) -> forms.FloatField:
    """The input of a sieve, with what its band asks."""
    limits = band.limits.get(sieve_mm)
    hint = _("{percent} passing asked").format(percent=asked_words(*limits)) if limits else ""
    widget = forms.NumberInput(attrs=DECIMAL | {"min": "0"})
    return forms.FloatField(
        label=sieve_label(sieve_mm), required=False, min_value=0, help_text=hint, widget=widget
    )


class OwnBandForm(OnceForm[OwnBand]):
    class Meta:
        model = OwnBand
        fields = ("name", "source")


class BandRowForm(forms.Form):
    """One sieve of an own band."""

    sieve_mm = forms.FloatField(label=_lazy("Sieve opening"), min_value=0.01, max_value=300)
    low = forms.FloatField(label=_lazy("Least passing"), min_value=0, max_value=100, required=False)
    high = forms.FloatField(label=_lazy("Greatest passing"), min_value=0, max_value=100, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in (("sieve_mm", "mm"), ("low", "%"), ("high", "%")):
            show_unit(self.fields[name], unit)
            self.fields[name].widget.attrs |= DECIMAL

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        low, high = cleaned.get("low"), cleaned.get("high")
        for name, here, there in (("low", low, high), ("high", high, low)):
            if here is None and there is not None and name not in self.errors:
                self.add_error(name, _(BOTH_ENDS))
        if low is not None and high is not None and low > high:
            self.add_error("low", _(DISORDER))
        return cleaned


class BandRows(forms.BaseFormSet[BandRowForm]):
    """The sieves of an own band, each once; a sieve without any limit is not of the band."""

    def add_fields(self, form: BandRowForm, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = REMOVE

    def clean(self) -> None:
        seen: set[float] = set()
        for sieve in (row[0] for row in self.limits):
            if sieve in seen:
                raise forms.ValidationError(_(TWICE), params={"sieve": sieve})
            seen.add(sieve)
        if not seen:
            raise forms.ValidationError(_(NO_LIMITS))

    @property
    def limits(self) -> list[tuple[float, float, float]]:
        """Sieve, least and greatest percent of each filled row."""
        rows = [form.cleaned_data for form in self.forms if getattr(form, "cleaned_data", None)]
        kept = [row for row in rows if not row.get("DELETE") and _has_limits(row)]
        return [(row["sieve_mm"], row["low"], row["high"]) for row in kept]


def _has_limits(row: dict[str, Any]) -> bool:
    return all(row.get(name) is not None for name in ("sieve_mm", "low", "high"))


def band_rows(band: OwnBand, data: Any = None, start: BandStart | None = None) -> Any:
    """Rows for the sieves of an own band, with spare ones; a new band may start with the sieves of a standard."""
    factory = forms.formset_factory(
        BandRowForm,
        formset=BandRows,
        extra=SPARE_ROWS,
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )
    initial: list[dict[str, Any]] = [
        {"sieve_mm": sieve, "low": low, "high": high} for sieve, low, high in band.limits.rows
    ]
    if start and not initial:
        initial = [{"sieve_mm": f"{sieve:g}"} for sieve in start.sieves_mm]
    return factory(data, initial=initial, prefix="rows")
