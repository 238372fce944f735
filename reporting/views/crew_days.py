"""A crew's day on paper."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.models.pages import page_of
from planning.models import Visit
from planning.selectors.crew_days import may_have_paper
from qa.models import Surface
from reporting.presentation.crew_day import crew_day_as_paper, crew_day_words, map_for_paper
from reporting.selectors.crew_days import crew_day_paper
from reporting.views.documents import paper_response

NOT_YOURS = gettext_noop(
    "This paper holds how to get in. It is for the people of the crew and for coordinators."
)


@login_required
@require_safe
def visit_paper(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_for_user(Visit, request.user, Role.VIEWER, pk=pk)
    if not may_have_paper(request.user, visit.crew):
        raise PermissionDenied(_(NOT_YOURS))
    units = request.current.units
    day = crew_day_paper(visit)
    drawn = map_for_paper(day, units)
    paper = crew_day_as_paper(
        day,
        crew_day_words(day, units, drawn),
        drawn,
        lambda key: request.build_absolute_uri(page_of(Surface(pk=key))),
    )
    return paper_response(paper, f"day-{slugify(day.crew)}-{day.on.isoformat()}")
