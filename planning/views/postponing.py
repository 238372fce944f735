"""A day on which nobody can work: what would move is seen first, then moved in one press."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import REFUSALS, add_refusal
from planning.forms.postponing import UnworkableForm
from planning.selectors.postponing import Moving, movings
from planning.services.crews import outputs_now
from planning.services.postponing import mark_unworkable
from qa.models import Site
from qa.selectors.days import firm_today


@login_required
@require_http_methods(["GET", "POST"])
def day_unworkable(request: PersonRequest) -> HttpResponse:
    """GET shows what would move; POST moves what was shown, or says that it is another by now."""
    organisation = require_role(request.current, Role.COORDINATOR)
    sent = request.POST or (request.GET if "crews" in request.GET else None)
    form = UnworkableForm(
        sent, organisation=organisation, initial={"on": request.GET.get("on") or firm_today(organisation)}
    )
    status, valid = 200, form.is_valid()
    if valid and request.method == "POST":
        try:
            done = _mark(request, organisation, form)
        except REFUSALS as error:
            status = add_refusal(form, error)
        else:
            messages.success(request, _said(done))
            return redirect("planning:visit-list")
    context = {"form": form, "is_asked": valid, "moves": _moves(organisation, form) if valid else []}
    return render(request, "planning/day_unworkable.html", context, status=status)


def _mark(request: PersonRequest, organisation: Organisation, form: UnworkableForm) -> list[Moving]:
    proposed = request.POST.getlist("proposed")
    return mark_unworkable(**form.cleaned_data, outputs=outputs_now(organisation), proposed=proposed)


def _moves(organisation: Organisation, form: UnworkableForm) -> list[Moving]:
    given = form.cleaned_data
    return movings(list(given["crews"]), given["on"], outputs_now(organisation), Site.today)


def _said(moves: list[Moving]) -> str:
    moved = sum(move.to is not None for move in moves)
    left = len(moves) - moved
    gone = ngettext("{count} visit moved.", "{count} visits moved.", moved).format(count=moved)
    said = [_("The day is marked."), gone]
    if left:
        rest = ngettext(
            "{count} visit found no day and stay where they are: change them by hand.",
            "{count} visits found no day and stay where they are: change them by hand.",
            left,
        )
        said.append(rest.format(count=left))
    return " ".join(said)
