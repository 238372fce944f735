"""A day on which nobody can work: which day, which crews, why."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation
from core.forms.parts import DayInput
from planning.forms.visits import crews_of
from planning.models import Crew


class UnworkableForm(forms.Form):
    """proposed: keys of what the person saw would move; checked once more before anything does."""

    on = forms.DateField(label=_lazy("Day"), widget=DayInput())
    crews = forms.ModelMultipleChoiceField(
        Crew.objects.none(), label=_lazy("Crews that stay in"), widget=forms.CheckboxSelectMultiple
    )
    reason = forms.CharField(
        label=_lazy("Why"),
        max_length=120,
        help_text=_lazy("Rain, frost, storm. It stands in the crews' calendar."),
    )

    def __init__(self, *args: Any, organisation: Organisation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        crews = crews_of(organisation)
        self.fields["crews"].queryset = crews  # type: ignore[attr-defined]
        self.initial.setdefault("crews", [crew.pk for crew in crews])
