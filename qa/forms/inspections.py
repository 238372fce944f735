"""Text to typed values for inspections, what they found, what was done about it, and changes of source."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.units import Quantity, UnitSystem
from core.forms.files import CHOOSE_AGAIN, WithFiles
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, show_unit
from qa.calc.drain_down import WellReading, WellReadings
from qa.calc.inspections import (
    ITEMS,
    Answer,
    Checklist,
    InspectionItem,
    ItemFacts,
    ItemGroup,
    Severity,
    grouped_items,
)
from qa.forms.measures import MeasuredForm, MeasureField
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange
from qa.selectors.inspections import open_findings
from qa.services.inspections import Found

WELL_ROWS = 4
MEASURED_ITEMS = (InspectionItem.JOINTS, InspectionItem.CELLS, InspectionItem.DEPTH)
LEFT_OPEN = gettext_noop("Not answered yet: %(items)s. Tap 'All in order', or say what you saw.")
BOTH = gettext_noop("Give the hours and the water level, or neither.")


def severities() -> list[tuple[str, str]]:
    """How pressing a finding may be, with the days that follow from it."""
    return [(severity.value, severity.in_full) for severity in Severity]


class FindingForm(WithFiles, OnceForm[InspectionFinding], MeasuredForm[InspectionFinding]):
    """What is wrong at one item, with photos. What is asked besides follows from the item."""

    measures = {"depth_mm": Quantity.SHORT_LENGTH}

    class Meta:
        model = InspectionFinding
        fields = ("what", "where", "depth_mm", "comes_from", "severity", "advice", "due_on")
        widgets = {"severity": forms.RadioSelect, "due_on": DayInput()}

    def __init__(self, *args: Any, item: InspectionItem, dated: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item = item
        self.instance.item = item.value
        self.fields["severity"].choices = severities()  # type: ignore[attr-defined]
        self.fields["advice"].required = False
        self.fields["advice"].help_text = _("Left empty, it says: {advice}").format(advice=ITEMS[item].advice)
        unasked = (
            () if item in MEASURED_ITEMS else ("depth_mm",),
            () if item is InspectionItem.SEDIMENT else ("comes_from",),
            () if dated else ("due_on",),
        )
        for name in (name for names in unasked for name in names):
            del self.fields[name]

    @property
    def found(self) -> Found:
        """What may be stored once the form is valid."""
        return Found(self.instance, self.sent)


class ItemForm(FindingForm):
    """One line of the checklist: how it is, and what is wrong where something is."""

    answer = forms.ChoiceField(choices=Answer.choices, required=False, widget=forms.RadioSelect)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, use_required_attribute=False, **kwargs)
        self.fields["answer"].label = self.item.label
        self.fields["answer"].help_text = self.facts.in_order

    @property
    def facts(self) -> ItemFacts:
        """What in order means here, and the source."""
        return ITEMS[self.item]

    @property
    def given(self) -> Answer | None:
        """What was said of the item by itself; what is wrong may be typed without choosing the answer."""
        said = str(self.data.get(self.add_prefix("answer"), ""))
        if said in Answer.values:
            return Answer(said)
        return Answer.WRONG if str(self.data.get(self.add_prefix("what"), "")).strip() else None

    def details(self) -> Iterator[BoundField]:
        """The fields that are asked where something is wrong."""
        return (self[name] for name in self.fields if name not in ("answer", "device_id"))


class WellRowForm(forms.Form):
    """One water level in the observation well."""

    hours = forms.FloatField(
        label=_lazy("Hours since the rain ended"),
        required=False,
        min_value=0,
        max_value=10_000,
        widget=forms.NumberInput(attrs=DECIMAL),
    )
    water_mm = MeasureField(
        label=_lazy("Water above the bottom of the stone"),
        quantity=Quantity.SHORT_LENGTH,
        lowest=0.0,
        highest=10_000.0,
        required=False,
        widget=forms.NumberInput(attrs=DECIMAL),
    )

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        show_unit(self.fields["hours"], "h")
        self.fields["water_mm"].speak(UnitSystem(units))  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        hours, water = cleaned.get("hours"), cleaned.get("water_mm")
        if not self.errors and (hours is None) != (water is None):
            self.add_error("hours" if hours is None else "water_mm", _(BOTH))
        return cleaned

    @property
    def reading(self) -> WellReading | None:
        """The level, None for an empty row."""
        hours, water = self.cleaned_data.get("hours"), self.cleaned_data.get("water_mm")
        return None if hours is None or water is None else WellReading(hours, water)


@dataclass(frozen=True, slots=True)
class PageGroup:
    """A group of items as the page shows it. all_in_order: the one tap for all of them."""

    group: ItemGroup
    all_in_order: BoundField
    items: list[ItemForm]

    @property
    def is_open(self) -> bool:
        """Whether something was said of an item by itself, so that it must be seen."""
        return bool(self.all_in_order.errors) or any(item.given for item in self.items)


class InspectionForm(OnceForm[Inspection]):
    """The whole inspection in one sending: a tap for all, a tap for each group, and only what is wrong asks for more.

    What is said of one item counts before what is said of all.
    """

    class Meta:
        model = Inspection
        fields = ("inspected_on", "hours_since_rain", "winter_practice", "note")
        widgets = {"inspected_on": DayInput(), "note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        show_unit(self.fields["hours_since_rain"], "h")
        self.fields["hours_since_rain"].widget.attrs.update(DECIMAL)
        bound = (self.data or None, self.files or None)
        kind = self.instance.surface.surface_type
        self.items = {
            group: [ItemForm(*bound, item=item, prefix=item.value, units=units) for item in items]
            for group, items in grouped_items(kind)
        }
        for group in self.items:
            self.fields[_all_of(group)] = forms.BooleanField(label=group.label, required=False)
        self.well = [
            WellRowForm(self.data or None, prefix=f"well-{n}", units=units) for n in range(WELL_ROWS)
        ]

    @property
    def page_groups(self) -> list[PageGroup]:
        """The checklist as the page shows it."""
        return [PageGroup(group, self[_all_of(group)], forms) for group, forms in self.items.items()]

    @property
    def well_is_open(self) -> bool:
        """Whether something was typed about the well."""
        return any(row.has_changed() for row in self.well)

    @property
    def found(self) -> list[Found]:
        """What is wrong, to be stored with the inspection."""
        return [form.found for form in self._all_items() if form.given is Answer.WRONG]

    @property
    def refused_files(self) -> list[str]:
        """Photos that cannot be kept, of all that is wrong, each with why."""
        wrong = (form for form in self._all_items() if form.given is Answer.WRONG)
        return [words for form in wrong for words in form.refused_files]

    def ask_for_files_again(self) -> None:
        """Name each item whose photos the browser let go of, while something else is to be corrected."""
        for group, listed in self.items.items():
            for form in listed:
                if form.files_sent:
                    said = [*form.refused_files, _(CHOOSE_AGAIN)]
                    self.add_error(
                        _all_of(group),
                        [_("{item}: {words}").format(item=form.item.label, words=words) for words in said],
                    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self._clean_items(cleaned)
        self._clean_well()
        return cleaned

    def _clean_items(self, cleaned: dict[str, Any]) -> None:
        everything = bool(self.data.get("everything"))
        answers: dict[InspectionItem, Answer] = {}
        for group, listed in self.items.items():
            rest = Answer.IN_ORDER if everything or cleaned.get(_all_of(group)) else None
            said = {form.item: form.given or rest for form in listed}
            answers |= {item: answer for item, answer in said.items() if answer}
            left = [item.in_sentence for item, answer in said.items() if answer is None]
            if left:
                refusal = forms.ValidationError(_(LEFT_OPEN), params={"items": ", ".join(left)})
                self.add_error(_all_of(group), refusal)
            self._clean_findings(group, listed)
        self.instance.checklist = Checklist(answers)

    def _clean_findings(self, group: ItemGroup, listed: list[ItemForm]) -> None:
        for form in listed:
            if form.given is Answer.WRONG and not form.is_valid():
                for name, errors in form.errors.items():
                    label = form.fields[name].label if name in form.fields else ""
                    self.add_error(
                        _all_of(group),
                        [
                            _("{item}, {field}: {words}").format(item=form.item.label, field=label, words=e)
                            for e in errors
                        ],
                    )

    def _clean_well(self) -> None:
        for number, row in enumerate(self.well, start=1):
            if not row.is_valid():
                told = _("Observation well, level {number}: {words}")
                said = [told.format(number=number, words=e) for es in row.errors.values() for e in es]
                self.add_error(None, said)
        if all(row.is_valid() for row in self.well):
            readings = tuple(row.reading for row in self.well if row.reading)
            self.instance.well = WellReadings(readings)

    def _all_items(self) -> Iterator[ItemForm]:
        return (form for listed in self.items.values() for form in listed)


def _all_of(group: ItemGroup) -> str:
    return f"all_{group.value}"


class RemedyForm(WithFiles, OnceForm[Remedy]):
    class Meta:
        model = Remedy
        fields = ("what", "done_by", "done_on")
        widgets = {"done_on": DayInput(), "what": forms.Textarea(attrs={"rows": 3})}


class SourceChangeForm(OnceForm[SourceChange]):
    class Meta:
        model = SourceChange
        fields = ("kind", "changed_on", "source", "what", "finding")
        widgets = {"kind": forms.RadioSelect, "changed_on": DayInput()}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = open_findings(self.instance.surface)
        if rows.exists():
            self.fields["finding"].queryset = rows  # type: ignore[attr-defined]
        else:
            del self.fields["finding"]
