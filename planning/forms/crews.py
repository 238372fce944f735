"""Text to typed values for crews."""

from typing import Any

from django import forms

from accounts.models import User
from core.forms.once import OnceForm
from planning.models import Crew


class CrewForm(OnceForm[Crew]):
    class Meta:
        model = Crew
        fields = ("name", "people", "hours_a_day", "retired")
        widgets = {"people": forms.CheckboxSelectMultiple}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        members = User.objects.filter(memberships__organisation=self.instance.organisation)
        self.fields["people"].queryset = members  # type: ignore[attr-defined]
