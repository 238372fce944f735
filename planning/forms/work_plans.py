"""Text to typed values for plans of work."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy

from core.forms.once import OnceForm
from core.forms.parts import DayInput
from planning.calc.plan_payload import PlannedDay, WorkPlanResult
from planning.forms.visits import crews_of
from planning.models import Crew, WorkPlan
from planning.presentation.work_plans import Asked


class WorkPlanForm(OnceForm[WorkPlan]):
    class Meta:
        model = WorkPlan
        fields = ("first_on", "days", "tests_beside", "seed")
        help_texts = {"seed": _lazy("The same seed gives the same plan. Another one may find a better plan.")}
        widgets = {"first_on": DayInput()}


class BoardForm(forms.Form):
    """Which part of a plan is looked at; what an address says wrongly is passed over."""

    week = forms.DateField(required=False)
    crews = forms.IntegerField(required=False, min_value=1)
    left = forms.IntegerField(required=False, min_value=1)

    def asked(self) -> Asked:
        """What of it could be read."""
        self.is_valid()
        sent = self.cleaned_data
        return Asked(sent.get("week"), sent.get("crews") or 1, sent.get("left") or 1)


class AcceptForm(forms.Form):
    """Which days of a plan become visits."""

    days = forms.MultipleChoiceField(
        error_messages={
            "required": _lazy("Choose at least one day."),
            "invalid_choice": _lazy("That day is not in the plan any more."),
        }
    )

    def __init__(self, *args: Any, result: WorkPlanResult, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_key = {day.key: day for day in result.days if day.is_new}
        self.fields["days"].choices = [(key, key) for key in self.by_key]  # type: ignore[attr-defined]

    def chosen(self) -> list[PlannedDay]:
        """The days that were chosen."""
        return [self.by_key[key] for key in self.cleaned_data["days"]]


class MoveForm(forms.Form):
    """Another crew and day for one piece of work in a plan."""

    key = forms.CharField(widget=forms.HiddenInput)
    crew = forms.ModelChoiceField(Crew.objects.none(), label=_lazy("Crew"))
    on = forms.DateField(label=pgettext_lazy("a day", "On"), widget=DayInput())

    def __init__(self, *args: Any, plan: WorkPlan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = crews_of(plan.organisation)  # type: ignore[attr-defined]
