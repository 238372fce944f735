"""The page on which a crew tells how its day went: hours as planned beside the hours that are asked for."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from core.calc.format import fixed
from planning.models import VisitTask
from planning.selectors.outputs import Outputs, minutes_of


@dataclass(frozen=True, slots=True)
class ToldRow:
    """A task with its form. planned: hours as a plan counts them, in words; empty where nothing says."""

    task: VisitTask
    form: Any
    planned: str


def told_rows(forms: Sequence[Any], outputs: Outputs) -> list[ToldRow]:
    """The tasks of a visit, in the order of their forms."""
    minutes = minutes_of([form.task for form in forms], outputs)
    return [ToldRow(form.task, form, hours_words(minutes[form.task.pk])) for form in forms]


def hours_words(minutes: int | None) -> str:
    """Minutes as hours in words; empty for none."""
    return "" if minutes is None else f"{fixed(minutes / 60, 1)} h"
