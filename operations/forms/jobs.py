"""What the list of jobs can be narrowed by."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.jobs import JobState
from operations.calc.job_kinds import KINDS
from operations.selectors.jobs import Asked


class JobFilter(forms.Form):
    """Kind and state; what no choice has narrows nothing."""

    kind = forms.ChoiceField(
        label=_lazy("Kind"),
        required=False,
        choices=lambda: [("", _("Every kind")), *((kind.key, _(kind.words)) for kind in KINDS)],
    )
    state = forms.ChoiceField(
        label=_lazy("State"),
        required=False,
        choices=lambda: [("", _("All but what is done")), *JobState.choices()],
    )

    def asked(self) -> Asked:
        """What was chosen."""
        self.is_valid()
        kind, state = self.cleaned_data.get("kind", ""), self.cleaned_data.get("state", "")
        return Asked(kind, (state,)) if state else Asked(kind)
