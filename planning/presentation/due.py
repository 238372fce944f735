"""What gets work done that is due because it was built, and where."""

from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from core.calc.paving import CleaningMethod
from planning.calc.due import DueKind
from planning.selectors.due_work import DueWork
from qa.calc.rounds import Purpose


def step_of(work: DueWork) -> tuple[str, str]:
    """The words of the button and its address."""
    key = work.place.pk
    if work.due.kind in (DueKind.FIRST_TEST, DueKind.GUARANTEE):
        purpose = Purpose.ACCEPTANCE if work.due.kind is DueKind.FIRST_TEST else Purpose.ROUTINE
        return (
            _("Record a test"),
            f"{reverse('qa:round-create', args=[key])}?{urlencode({'purpose': purpose.value})}",
        )
    if work.due.kind is DueKind.TOP_UP:
        query = urlencode({"method": CleaningMethod.JOINT_REFILL.value})
        return _("Record the filling"), f"{reverse('maintenance:cleaning-create', args=[key])}?{query}"
    if work.due.kind is DueKind.CURE:
        return _("Record the cure"), reverse("qa:check-record", args=[work.row.pk])
    if work.due.kind is DueKind.NOTICE:
        return _("Open the agreement"), reverse("planning:agreement-edit", args=[key])
    return _("Open the check"), str(work.row.get_absolute_url())
