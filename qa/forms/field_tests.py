"""Text to typed values for tests by methods other than the ring: one form made from a method's entries."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from core.forms.parts import DECIMAL, show_unit
from qa.calc.field_readings import FieldReadings
from qa.calc.field_tests import FIELD_TESTS, Entry, FieldTest, Measures
from qa.calc.ring import Ending
from qa.forms.rounds import SETTING, TakenForm, TestForm, nominal_readings, offer_places
from qa.models import InfiltrationTest

OF_DEVICE = (Measures.LENGTH, Measures.VOLUME)  # of what is carried from spot to spot
MISSING = gettext_noop("%(run)s %(number)d is half filled in. Enter %(label)s too, or empty the row.")


class FieldTestForm(TakenForm):
    """A test of one method: where, its entries once, its runs, and what was seen."""

    class Meta:
        model = InfiltrationTest
        fields = ("location", "spot", "unit_system", "ended", "leak_seen", "finished_at", "note")
        widgets = {
            "unit_system": forms.RadioSelect,
            "ended": forms.RadioSelect,
            "finished_at": forms.HiddenInput,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.field_test = FIELD_TESTS[TestMethod(self.instance.method)]
        offer_places(self, self.instance.round.surface)
        self._drop_what_the_method_has_not()
        for name, entry, in_run in named_entries(self.field_test):
            self.fields[name] = _entry_field(entry, required=entry.required and not in_run)

    def _drop_what_the_method_has_not(self) -> None:
        if self.field_test.can_be_stopped:
            stops = (Ending.DRAINED, Ending.STILL_PONDED)
            self.fields["ended"].choices = [(e.value, e.label) for e in stops]  # type: ignore[attr-defined]
        else:
            del self.fields["ended"]
        if not self.field_test.sealed:
            del self.fields["leak_seen"]

    @property
    def fixed_rows(self) -> list[forms.BoundField]:
        """Entries made once."""
        return [self[entry.key] for entry in self.field_test.fixed if entry.key in self.fields]

    @property
    def run_rows(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Title and entries of each run."""
        test = self.field_test
        numbers = range(1, test.runs_offered + 1)
        return [
            (f"{test.run_name} {n}", [self[run_name(n, entry)] for entry in test.repeated]) for n in numbers
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        runs = tuple(self._runs(cleaned)) if self.field_test.repeated else ()
        if self.field_test.repeated and not runs and not self.errors:
            self.add_error(
                run_name(1, self.field_test.repeated[0]), _("Enter the readings of at least one run.")
            )
        once = {entry.key: cleaned.get(entry.key) for entry in self.field_test.fixed}
        self.instance.readings = FieldReadings(once, runs)
        return cleaned

    def _runs(self, cleaned: dict[str, Any]) -> Iterator[dict[str, float]]:
        for n in range(1, self.field_test.runs_offered + 1):
            run = {entry.key: cleaned.get(run_name(n, entry)) for entry in self.field_test.repeated}
            given = {key: value for key, value in run.items() if value is not None}
            if not given:
                continue
            for entry in self.field_test.repeated:
                name = run_name(n, entry)
                if entry.key not in given and name not in self.errors:
                    params = {"run": self.field_test.run_name, "number": n, "label": entry.label.lower()}
                    self.add_error(name, forms.ValidationError(_(MISSING), params=params))
            yield given


def run_name(number: int, entry: Entry) -> str:
    """Name of the field for an entry of a run, counted from 1."""
    return f"run{number}_{entry.key}"


def named_entries(test: FieldTest) -> Iterator[tuple[str, Entry, bool]]:
    """Every field a method's form has: its name, its entry, whether it belongs to a run."""
    for entry in test.fixed:
        if entry.measures is not Measures.LOOKED_UP:
            yield entry.key, entry, False
    for number in range(1, test.runs_offered + 1):
        for entry in test.repeated:
            yield run_name(number, entry), entry, True


def _entry_field(entry: Entry, *, required: bool) -> forms.Field:
    if entry.measures is Measures.YES:
        return forms.BooleanField(label=entry.label, help_text=entry.hint, required=False)
    attrs = DECIMAL | {"data-entry": entry.key}
    field = forms.FloatField(
        label=entry.label,
        help_text=entry.hint,
        required=required,
        min_value=0,
        widget=forms.NumberInput(attrs=attrs),
    )
    both = dict.fromkeys((entry.unit(UnitSystem.SI), entry.unit(UnitSystem.US)))
    show_unit(field, _(" or ").join(both))
    field.is_timed = entry.measures is Measures.TIME  # type: ignore[attr-defined]
    field.unit_pair = "|".join((entry.unit(UnitSystem.SI), entry.unit(UnitSystem.US)))  # type: ignore[attr-defined]
    return field


def form_for(
    test: InfiltrationTest, data: Any, initial: dict[str, Any], files: Any = None
) -> TestForm | FieldTestForm:
    """The form of the test's method."""
    form = TestForm if test.is_ring else FieldTestForm
    return form(data, files, instance=test, initial=initial)


def first_values(method: TestMethod, units: str) -> dict[str, Any]:
    """What a new test starts with: the sizes that the method itself sets."""
    if method is TestMethod.RING:
        return nominal_readings(units)
    usual = {e.key: e.usual[UnitSystem(units)] for e in FIELD_TESTS[method].fixed if e.usual}
    return {
        "unit_system": units,
        "ended": Ending.DRAINED.value,
        **usual,
        "outer_level": True,
        "dam_tight": True,
    }


def carried_over(before: InfiltrationTest) -> dict[str, Any]:
    """What a test takes over from the one before it in its round: units, device and seal, which seldom change."""
    if before.is_ring:
        return {name: getattr(before, name) for name in SETTING}
    fixed = FIELD_TESTS[TestMethod(before.method)].fixed
    sizes = (entry.key for entry in fixed if entry.measures in OF_DEVICE)
    once = before.readings.once
    return {"unit_system": before.unit_system} | {key: once[key] for key in sizes if key in once}


def values_of(test: InfiltrationTest) -> dict[str, Any]:
    """A recorded test as the form shows it, for a correction."""
    if test.is_ring:
        return {name: getattr(test, name) for name in TestForm.Meta.fields}
    values = {name: getattr(test, name) for name in FieldTestForm.Meta.fields}
    read = test.readings
    values |= read.once
    for number, run in enumerate(read.runs, start=1):
        values |= {f"run{number}_{key}": value for key, value in run.items()}
    return values
