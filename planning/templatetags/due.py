"""Work that is due because it was built, in templates."""

from django import template

from accounts.views.current_organisation import CurrentOrganisation
from planning.presentation.due import step_of
from planning.selectors.due_work import DueWork

register = template.Library()


@register.filter
def step(work: DueWork) -> tuple[str, str]:
    """What gets it done: the words of the button, and its address."""
    return step_of(work)


@register.filter
def may_be_done_by(work: DueWork, current: CurrentOrganisation) -> bool:
    """Whether the reader's role lets them do it."""
    return current.can_plan if work.is_for_planners else current.can_record
