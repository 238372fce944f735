"""For the office: what waits on phones, what was refused or lost, and taking in the copy of a phone."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.format import moment
from core.presentation.tables import page_of_rows
from core.views.form_views import save_with_reason
from fieldwork.forms.take_in import TakeInForm
from fieldwork.models import HeldEntry
from fieldwork.presentation.phones import phone_cards, settled_lines
from fieldwork.presentation.taken_in import in_short, taken_line
from fieldwork.selectors.phones import phones_of, settled_of
from fieldwork.services.phones import deal_with
from fieldwork.views.taking_in import take_in
from qa.selectors.days import firm_zone


@login_required
@require_safe
def phone_list(request: PersonRequest) -> HttpResponse:
    """The phones of a firm for who plans, for others their own."""
    organisation = require_role(request.current, Role.TECHNICIAN)
    may_settle = request.current.can_plan
    at, zone, person = now(), firm_zone(organisation), None if may_settle else request.user
    page = page_of_rows(phones_of(organisation, at, person), request)
    context = {
        "cards": phone_cards(page.object_list, zone, at, may_settle),
        "page": page,
        "settled": settled_lines(settled_of(organisation, at, person), zone),
    }
    return render(request, "fieldwork/phone_list.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def phone_settle(request: PersonRequest, pk: UUID) -> HttpResponse:
    """Say what was done about an entry that did not arrive."""
    held = get_for_user(HeldEntry, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: _settled(held, request, reason),
        "fieldwork/phone_settle.html",
        held=held,
        made=moment(held.made_at, firm_zone(held.phone.organisation)),
    )


def _settled(held: HeldEntry, request: PersonRequest, reason: str) -> str:
    deal_with(held=held, by=request.user, reason=reason, at=now())
    return "fieldwork:phone-list"


@login_required
@require_http_methods(["GET", "POST"])
def phone_take_in(request: PersonRequest) -> HttpResponse:
    """Store what a phone wrote to a file; sent again, nothing is stored twice."""
    organisation = require_role(request.current, Role.COORDINATOR)
    form = TakeInForm(request.POST or None, request.FILES or None)
    context: dict[str, object] = {"form": form}
    if form.is_valid():
        taken = take_in(request, organisation, form.cleaned_data["file"], now())
        lines = [taken_line(one.title, one.about, one.person, one.answer) for one in taken]
        context = {"form": TakeInForm(), "lines": lines, "in_short": in_short(lines)}
    return render(request, "fieldwork/phone_take_in.html", context)
