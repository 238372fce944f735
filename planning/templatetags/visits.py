"""Visits in templates."""

from datetime import date

from django import template
from django.utils.translation import gettext as _

from planning.calc.vocabulary import TaskOutcome, VisitStatus
from planning.models import VisitTask

register = template.Library()

TAGS = {VisitStatus.DONE: "tag--good", VisitStatus.CANCELLED: "tag--bad"}


@register.filter
def visit_tag_class(status: str) -> str:
    """The look of the word that says how a visit stands."""
    return TAGS.get(VisitStatus(status), "")


@register.filter
def late_class(visit_on: date, today: date) -> str:
    """The mark of a visit whose day has passed."""
    return "todo--late" if visit_on < today else ""


@register.filter
def outcome_words(task: VisitTask) -> str:
    """How a task stands, in small words."""
    return TaskOutcome(task.outcome).in_sentence if task.outcome else _("to do")
