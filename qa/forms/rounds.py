"""Text to typed values for test rounds and tests."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.paving import SurfaceType, TestMethod
from core.calc.units import Quantity, UnitSystem
from core.forms.files import ABOUT, WithFiles
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, KeepAnyway
from qa.calc.deviations import Deviation, voiding
from qa.calc.effects import Effect
from qa.calc.ring import PROCEDURES
from qa.calc.validity import RoundConditions, weather_deviations
from qa.forms.measures import MeasuredForm
from qa.models import InfiltrationTest, Location, Surface, TestRound

KEEP = "keep_anyway"
EXTRA = ("note", "photos", "keep_location")
PHOTOS_OF = {
    True: gettext_noop("Photos of the ring in place"),
    False: gettext_noop("Photos of the test in place"),
}
SHOWN_AGAIN = gettext_noop("They are shown when the spot is tested again.")
# What is the same at all spots of a round as a rule: asked once, and carried over from the test before.
SETTING = ("unit_system", "ring_diameter", "prewet_mass", "seal")
RING_READINGS = ("test_mass", "ring_diameter", "elapsed_s")
# Surfaces on which the ring meets joints, so that its place on their pattern matters.
JOINTED = (SurfaceType.PICP, SurfaceType.CLAY, SurfaceType.RESIN_JOINT, SurfaceType.CONCRETE_GRID)


class RoundForm(MeasuredForm[TestRound], OnceForm[TestRound]):
    measures = {
        "air_temperature_c": Quantity.TEMPERATURE,
        "surface_temperature_c": Quantity.TEMPERATURE,
    }

    class Meta:
        model = TestRound
        fields = (
            "tested_on",
            "purpose",
            "hours_since_rain",
            "standing_water",
            "air_temperature_c",
            "surface_temperature_c",
            "note",
        )
        widgets = {
            "tested_on": DayInput(),
            "purpose": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.instance._state.adding:
            self._ask_about_weather(cleaned)
        return cleaned

    def _ask_about_weather(self, cleaned: dict[str, Any]) -> None:
        """Ring tests on a wet surface do not count: say so before anybody kneels down to make them."""
        conditions = RoundConditions(cleaned.get("hours_since_rain"), bool(cleaned.get("standing_water")))
        found = voiding(weather_deviations(conditions, TestMethod.RING))
        if not found:
            return
        offer_to_keep(self, _("Go on all the same: ring tests of this round will not count"))
        if KEEP not in self.data:
            self.add_error(KEEP, [each.message for each in found])


class TakenForm(WithFiles, OnceForm[InfiltrationTest]):
    """A test with photos and the time it was made, told by the device that sends it, however late it arrives."""

    made_at = forms.DateTimeField(required=False, widget=forms.HiddenInput(attrs={"data-made-at": ""}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        photos = self.fields["photos"]
        photos.label = _(PHOTOS_OF[self.instance.is_ring])
        photos.help_text = f"{_(SHOWN_AGAIN)} {_(ABOUT)}"

    @property
    def is_extra_open(self) -> bool:
        """Whether what is seldom filled in holds something that must be seen."""
        return any(self[name].errors or self[name].value() for name in EXTRA)

    def _post_clean(self) -> None:
        super()._post_clean()
        told = self.cleaned_data.get("made_at")
        if told:
            self.instance.made_at = told


class TestForm(TakenForm):
    """One ring test: the readings as taken, in the units they were taken in."""

    __test__ = False

    class Meta:
        model = InfiltrationTest
        fields = (
            "location",
            "spot",
            "unit_system",
            "rewetted",
            "prewet_mass",
            "prewet_time_s",
            "start_delay_s",
            "minutes_since_first",
            "test_mass",
            "ring_diameter",
            "elapsed_s",
            "ended",
            "seal",
            "ring_position",
            "leak_seen",
            "finished_at",
            "note",
        )
        widgets = {
            "unit_system": forms.RadioSelect,
            "ended": forms.RadioSelect,
            "finished_at": forms.HiddenInput,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        surface = self.instance.round.surface
        offer_places(self, surface)
        if surface.surface_type not in JOINTED:
            del self.fields["ring_position"]
        for name in RING_READINGS:
            self.fields[name].required = True
        for name in (*RING_READINGS, "prewet_mass", "prewet_time_s", "start_delay_s", "minutes_since_first"):
            self.fields[name].widget.attrs |= DECIMAL

    @property
    def is_setting_open(self) -> bool:
        """Whether something in what was carried over was refused."""
        return any(self[name].errors for name in SETTING)


def offer_to_keep(form: forms.ModelForm[Any], label: str) -> None:
    """Let a person keep what will not count in full, once it was said."""
    form.fields[KEEP] = KeepAnyway(label)


def refuse_loss(found: Sequence[Deviation]) -> None:
    """Raise ValidationError where a test would not count in full, with what to do now."""
    if not found:
        return
    worst = found[0].effect
    first = (
        _("This test would not count.")
        if worst is Effect.VOIDS
        else _(
            "This test would count as an upper bound only: it can show that the surface fails, never that it passes."
        )
    )
    after = _("Correct it now and test again, or tick this to keep the test as it is.")
    raise forms.ValidationError({KEEP: [" ".join((first, *(each.message for each in found), after))]})


def refuse_surprise(words: str) -> None:
    """Raise ValidationError where a result is odd: to be looked at again, or kept."""
    if words:
        raise forms.ValidationError({KEEP: words})


def offer_places(form: forms.ModelForm[InfiltrationTest], surface: Surface) -> None:
    """Let the form choose among the surface's fixed locations, or another spot in words."""
    location, kept = form.fields["location"], form.initial.get("location")
    offered = Q(retired=False)
    if isinstance(kept, Location):  # a correction keeps its place, also one that is no longer tested
        offered |= Q(pk=kept.pk)
    location.queryset = Location.objects.filter(offered, surface=surface)  # type: ignore[attr-defined]
    location.empty_label = _("Another spot (describe it)")  # type: ignore[attr-defined]
    if not form.is_bound and not location.queryset.exists():  # type: ignore[attr-defined]
        form.fields["spot"].help_text = _("Say where: nobody has fixed a location on this surface yet.")


def nominal_readings(units: str) -> dict[str, object]:
    """What a new ring test starts with: the ring and the prewet mass of the standard."""
    procedure = PROCEDURES[UnitSystem(units)]
    return {
        "unit_system": units,
        "prewet_mass": procedure.small_mass,
        "ring_diameter": procedure.diameter_nominal,
    }
