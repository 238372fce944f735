"""What cleanings gave against what was expected."""

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from planning.calc.learning import FEWEST, summaries
from planning.presentation.learning import cleaning_lines, summary_lines
from planning.selectors.learning import cleanings_told

ROWS_A_PAGE = 50


@login_required
@require_safe
def learning_show(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    every = cleanings_told(request.user, organisation)
    told = [one for one in every if one.ratio]
    page = Paginator(told, ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "tables": [
            (_("By method"), "methods-t", summary_lines(summaries(every, by_crew=False, by_method=True))),
            (_("By crew"), "crews-t", summary_lines(summaries(every, by_crew=True, by_method=False))),
            (
                _("By crew and method"),
                "both-t",
                summary_lines(summaries(every, by_crew=True, by_method=True)),
            ),
        ],
        "page": page,
        "lines": cleaning_lines(page.object_list),
        "count": len(every),
        "told": len(told),
        "fewest": FEWEST,
    }
    return render(request, "planning/learning_show.html", context)
