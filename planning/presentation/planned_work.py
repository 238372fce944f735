"""The name of a piece of work that a plan keeps, in the reader's language."""

from django.utils.translation import gettext as _

from maintenance.calc.vocabulary import Action
from maintenance.models.recommendations import action_words
from planning.calc.due import DueKind
from planning.calc.plan_payload import LeftOut, PlannedStop
from planning.calc.vocabulary import Moment
from qa.calc.inspections import InspectionItem


def title_of(work: PlannedStop | LeftOut) -> str:
    """What is to be done; as it was stored where the plan does not tell more of it."""
    told = work.wording
    if not told.action:
        return work.title
    if told.due:
        return DueKind(told.due).label
    if told.item:
        found = _("{action}: {what}").format(action=InspectionItem(told.item).label, what=told.found)
        return _("{action}: {what}").format(action=Action(told.action).label, what=found)
    words = action_words(told.action, told.method)
    return _("{test} {moment}").format(test=words, moment=Moment(told.moment).label) if told.moment else words
