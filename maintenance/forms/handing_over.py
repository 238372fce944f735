"""Text to typed values for what the owner of a site is left with."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop, override

from core.forms.fresh import FreshForm
from core.forms.once import OnceForm
from core.forms.parts import DayInput, Group, grouped
from maintenance.calc.site_plans import SPILLS, STARTING_TEXTS, WINTER, Topic, Trained, TrainingFacts
from maintenance.models import SitePlan, Training

_WINTER = (*WINTER, "winter_source")
_SPILLS = (*SPILLS, "spill_source")
NO_ROLE = gettext_noop(
    "%(line)s: give a name and a role with a comma between, such as: Ada Example, caretaker."
)
TOO_LONG = gettext_noop("%(line)s: at most %(most)d characters for a line.")
MOST_PEOPLE, LONGEST_LINE = 60, 160


class SitePlanForm(FreshForm[SitePlan]):
    """Both plans. A new one begins with texts of common practice, which somebody must read before they are stored."""

    class Meta:
        model = SitePlan
        fields = (*_WINTER, *_SPILLS)
        widgets = {name: forms.Textarea(attrs={"rows": 3}) for name in (*WINTER, *SPILLS)}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance._state.adding:
            with override(self.instance.site.owner.reads):  # it goes into the owner's papers
                self.initial = {**self.initial, **{name: _(text) for name, text in STARTING_TEXTS.items()}}

    @property
    def groups(self) -> list[Group]:
        """The two plans under their titles."""
        parts = grouped(self, (_("Winter and snow storage"), _WINTER), (_("Spill response"), _SPILLS))
        return [Group(part.title, part.fields, part.hint, grid=False) for part in parts]


class TrainingForm(OnceForm[Training]):
    """One training: day, by whom, of whom, in what."""

    people = forms.CharField(
        label=_lazy("Who was trained"),
        max_length=MOST_PEOPLE * LONGEST_LINE,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_lazy("Each on a line of their own: name, role. They sign on the paper."),
    )
    topics = forms.TypedMultipleChoiceField(
        label=_lazy("What was covered"),
        choices=Topic.choices,
        coerce=Topic,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    other = forms.CharField(
        label=_lazy("What else was covered"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_lazy("Each on a line of its own."),
    )
    field_order = ("trained_on", "trained_by", "people", "topics", "other")

    class Meta:
        model = Training
        fields = ("trained_on", "trained_by")
        widgets = {"trained_on": DayInput}

    def clean_people(self) -> tuple[Trained, ...]:
        return tuple(_person(line) for line in _lines(self.cleaned_data["people"]))

    def clean_other(self) -> tuple[str, ...]:
        return tuple(_lines(self.cleaned_data["other"]))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.instance.facts = TrainingFacts(
            tuple(cleaned.get("people", ())),
            tuple(cleaned.get("topics", ())),
            tuple(cleaned.get("other", ())),
        )
        return cleaned


def typed(facts: TrainingFacts) -> dict[str, Any]:
    """What a form begins with that corrects a stored training."""
    return {
        "people": "\n".join(f"{one.name}, {one.role}" for one in facts.people),
        "topics": list(facts.topics),
        "other": "\n".join(facts.other),
    }


def _lines(text: str) -> list[str]:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    for line in lines:
        if len(line) > LONGEST_LINE:
            raise ValidationError(_(TOO_LONG), params={"line": f"{line[:40]}…", "most": LONGEST_LINE})
    return lines


def _person(line: str) -> Trained:
    name, _comma, role = (part.strip() for part in line.partition(","))
    if not (name and role):
        raise ValidationError(_(NO_ROLE), params={"line": line})
    return Trained(name, role)
