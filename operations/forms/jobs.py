"""What the list of jobs can be narrowed by."""

from django import forms

from core.calc.jobs import JobState
from operations.calc.job_kinds import KINDS
from operations.selectors.jobs import Asked


class JobFilter(forms.Form):
    """Kind and state; what no choice has narrows nothing."""

    kind = forms.ChoiceField(
        label="Kind",
        required=False,
        choices=[("", "Every kind"), *((kind.key, kind.words) for kind in KINDS)],
    )
    state = forms.ChoiceField(
        label="State", required=False, choices=[("", "All but what is done"), *JobState.choices()]
    )

    def asked(self) -> Asked:
        """What was chosen."""
        self.is_valid()
        kind, state = self.cleaned_data.get("kind", ""), self.cleaned_data.get("state", "")
        return Asked(kind, (state,)) if state else Asked(kind)
