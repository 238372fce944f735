"""How a day went: one small form a task, sent together."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.forms.fresh import SeenForm
from core.models.decimals import DecimalEntry
from planning.calc.vocabulary import TaskOutcome
from planning.models import VisitTask
from planning.services.day_end import Told

MOST_H = 720


def _choices(task: VisitTask) -> list[tuple[str, str]]:
    not_done = (TaskOutcome.NOT_DONE.value, TaskOutcome.NOT_DONE.label)
    if not task.is_done:
        return [("", _("Still to do")), not_done]
    has_record = [(one.value, one.label) for one in (TaskOutcome.DONE, TaskOutcome.PART)]
    return [*has_record, not_done] if task.is_disproved else has_record


class TaskToldForm(SeenForm):
    """What a crew tells of one task. Hours are of work, the drive aside."""

    shown: ClassVar[Mapping[str, str]] = {
        "outcome": "outcome",
        "outcome_reason": "reason",
        "taken_min": "taken_h",
    }

    outcome = forms.ChoiceField(label=_lazy("Outcome"), required=False, widget=forms.RadioSelect)
    reason = forms.CharField(
        label=_lazy("Why not, or what is left"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    taken_h = DecimalEntry(
        label=_lazy("Hours of work"),
        required=False,
        min_value=Decimal("0.05"),
        max_value=MOST_H,
        max_digits=5,
        decimal_places=2,
        help_text=_lazy("Without the drive."),
    )

    def __init__(self, data: Any = None, *, task: VisitTask) -> None:
        super().__init__(data, prefix=f"task-{task.pk}", row=task)
        self.task = task
        if task.has_ended and not task.is_done:  # as it was told; its record would say otherwise
            self.fields.clear()
            return
        self.fields["outcome"].choices = _choices(task)  # type: ignore[attr-defined]
        if not task.is_done:
            del self.fields["taken_h"]
        self.show(task, self.columns())

    def show(self, row: Any, columns: Sequence[str]) -> None:
        super().show(row, columns)
        self.initial["taken_h"] = round(Decimal(row.taken_min) / 60, 2) if row.taken_min else None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        wants_reason = cleaned.get("outcome") in (TaskOutcome.NOT_DONE, TaskOutcome.PART)
        if wants_reason and not cleaned.get("reason", "").strip():
            self.add_error("reason", _("Say why. It stays readable beside the task."))
        return cleaned

    def told(self) -> Told:
        """What was told, as the service takes it."""
        given = self.cleaned_data
        outcome, hours = given.get("outcome"), given.get("taken_h")
        return Told(
            self.task,
            TaskOutcome(outcome) if outcome else None,
            given.get("reason", ""),
            None if hours is None else round(60 * hours),
        )


class DayToldForm(forms.Form):
    """The forms of a visit's tasks, sent together."""

    def __init__(self, data: Any = None, *, tasks: Sequence[VisitTask]) -> None:
        super().__init__(data)
        self.parts = [TaskToldForm(data, task=task) for task in tasks]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        valid = [row.is_valid() for row in self.parts]  # every row, so that each says what is wrong with it
        if not all(valid):
            self.add_error(None, _("Something is missing below. Nothing was stored yet."))
        return cleaned

    def told(self) -> list[Told]:
        """What was told of each task that can still be told of."""
        return [row.told() for row in self.parts if row.fields]
