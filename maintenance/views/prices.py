"""Price lists of a firm."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.format import day
from core.views.form_views import save_or_show
from maintenance.forms.prices import PriceListForm, as_before
from maintenance.models import PriceList
from maintenance.presentation.prices import COST_AND_PRICE, counts_words, list_lines, price_rows, tax_words
from maintenance.selectors.prices import price_list_on, price_lists
from maintenance.services import prices
from maintenance.services.cleanings import terms_of
from qa.selectors.days import firm_today


@login_required
@require_safe
def price_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    lines = list_lines(price_lists(request.user, organisation, firm_today(organisation)))
    return render(request, "maintenance/price_list.html", {"lines": lines, "about": _(COST_AND_PRICE)})


@login_required
@require_http_methods(["GET", "POST"])
def price_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    today = firm_today(organisation)
    start = as_before(price_list_on(organisation, today), terms_of(organisation), organisation)
    new = PriceList(organisation=organisation)
    form = PriceListForm(
        request.POST or None,
        instance=new,
        initial=start | {"valid_from": today},
        units=request.current.units,
    )

    def save() -> PriceList:
        stored = prices.save_price_list(prices=new, by=request.user)
        said = _("Prices from {day} stored. Quotes made before keep theirs.")
        messages.success(request, said.format(day=day(stored.valid_from)))
        return stored

    return save_or_show(
        request, form, save, "maintenance/price_form.html", about=_(COST_AND_PRICE), counts=counts_words(new)
    )


@login_required
@require_safe
def price_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(PriceList, request.user, Role.VIEWER, pk=pk)
    context = {
        "prices": row,
        "rows": price_rows(row, request.current.units),
        "tax": tax_words(row),
        "about": _(COST_AND_PRICE),
        "counts": counts_words(row),
    }
    return render(request, "maintenance/price_detail.html", context)
