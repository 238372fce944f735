"""Quotes: made from advice, changed, sent, answered."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.tables import page_of_rows
from core.services import mail
from core.views.form_views import REFUSALS, add_refusal, asked_place, do_or_say, save_or_show
from maintenance.models.recommendations import RELEASABLE
from maintenance.selectors.prices import price_list_on
from planning.forms.quotes import AnswerForm, QuoteForm, QuoteStartForm, WrittenAnswerForm, line_formset
from planning.models import QuoteVersion
from planning.presentation.quotes import answer_words, line_words, quote_rows, sum_words
from planning.selectors.quotes import days_of_firms, quotes_shown
from planning.services import quote_mail, quotes
from planning.views.advice import NONE_CHOSEN, chosen_advice
from qa.forms.rowsets import kept_forms, removed_rows
from qa.selectors.days import firm_today

NO_MAIL = gettext_noop("This server has no outgoing mail: tell the owner yourself, or pass on the PDF.")
NO_MAIL_TO_FIRM = gettext_noop("The firm reads it beside the quote; this server has no outgoing mail.")
NOBODY = gettext_noop(
    "Nobody reads along for this owner: invite somebody on the owner's page, or pass on the PDF."
)


@login_required
@require_safe
def quote_list(request: PersonRequest) -> HttpResponse:
    page = page_of_rows(quotes_shown(request.user, request.current.organisation), request)
    rows = quote_rows(page, days_of_firms(page))
    return render(request, "planning/quote_list.html", {"page": page, "rows": rows})


@login_required
@require_http_methods(["GET", "POST"])
def quote_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    chosen = chosen_advice(request).filter(status__in=RELEASABLE)
    if not chosen.exists():
        messages.warning(request, _(NONE_CHOSEN))
        return redirect(asked_place(request) or "/")
    form, status = QuoteStartForm(request.POST or None, chosen=chosen), 200
    if form.is_valid():
        try:
            # To the quote, which is still to be sent, whatever list the advice was chosen on.
            return redirect(_made(request, form))
        except REFUSALS as error:
            status = add_refusal(form, error)
    back = asked_place(request) or form.chosen[0].surface.get_absolute_url()
    context = {"form": form, "prices": price_list_on(organisation, firm_today(organisation)), "back": back}
    return render(request, "planning/quote_create.html", context, status=status)


def _made(request: PersonRequest, form: QuoteStartForm) -> QuoteVersion:
    given = form.cleaned_data
    stored = quotes.quote_advice(
        recommendations=list(given["advice"]),
        by=request.user,
        valid_until=given["valid_until"],
        note=given["note"],
        device_id=form.once,
    )
    said = _("{quote} is stored as a draft. Read it through, then send it.")
    messages.success(request, said.format(quote=stored))
    return stored


@login_required
@require_safe
def quote_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.OWNER, pk=pk)
    return render(request, "planning/quote_detail.html", _page(request, version))


def _page(request: PersonRequest, version: QuoteVersion) -> dict[str, Any]:
    today = {version.quote.organisation_id: firm_today(version.quote.organisation)}
    state = version.state_on(today[version.quote.organisation_id])
    versions = QuoteVersion.objects.for_user(request.user).filter(quote=version.quote)
    answerable = QuoteVersion.objects.for_user(request.user).answerable_by(request.user)  # type: ignore[attr-defined]
    return {
        "version": version,
        "state": state,
        "answer": answer_words(version),
        "lines": line_words(list(version.lines.all()), version.currency, request.current.units),
        "sums": sum_words(version.sums, version.tax_rule, version.currency),
        "of_firm": request.current.acts_for(version.quote.organisation),
        "others": quote_rows(versions.exclude(pk=version.pk).select_related("quote", "decided_by"), today),
        "may_answer": state.waits and answerable.filter(pk=version.pk).exists(),
    }


@login_required
@require_http_methods(["GET", "POST"])
def quote_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.COORDINATOR, pk=pk)
    form, formset = (
        QuoteForm(request.POST or None, instance=version),
        line_formset(version, request.POST or None),
    )
    status = 200
    # Both are asked, so that the faults of both are shown at once.
    if all([form.is_valid(), formset.is_valid()]):
        try:
            return redirect(_changed(request, version, form, formset))
        except REFUSALS as error:
            status = add_refusal(form, error)
    context = {"form": form, "formset": formset, "version": version}
    return render(request, "planning/quote_form.html", context, status=status)


def _changed(request: PersonRequest, version: QuoteVersion, form: QuoteForm, formset: Any) -> QuoteVersion:
    stored = quotes.change(
        version=version,
        by=request.user,
        lines=[each.save(commit=False) for each in kept_forms(formset)],
        removed=removed_rows(formset),
        **form.cleaned_data,
    )
    said = _("{quote} is stored as a draft. Its owner sees it once it is sent.")
    messages.success(request, said.format(quote=stored))
    return stored


@login_required
@require_POST
def quote_send(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.COORDINATOR, pk=pk)
    return do_or_say(request, lambda: _sent(request, version), version)


def _sent(request: PersonRequest, version: QuoteVersion) -> str:
    stored = quotes.send(version=version, by=request.user)
    link = request.build_absolute_uri(stored.get_absolute_url())
    told = quote_mail.tell_owner(version=stored, link=link)
    sent = _("{quote} is sent.").format(quote=stored)
    mails = ngettext("{count} mail to {owner}.", "{count} mails to {owner}.", told)
    untold = _(NOBODY) if mail.is_set_up() else _(NO_MAIL)
    return f"{sent} {mails.format(count=told, owner=stored.quote.owner) if told else untold}"


@login_required
@require_POST
def quote_withdraw(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.COORDINATOR, pk=pk)
    return do_or_say(
        request, lambda: _("{quote} is withdrawn.").format(quote=quotes.withdraw(version=version)), version
    )


@login_required
@require_http_methods(["GET", "POST"])
def quote_answer(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.OWNER, pk=pk)
    if not QuoteVersion.objects.for_user(request.user).answerable_by(request.user).filter(pk=pk).exists():  # type: ignore[attr-defined]
        raise PermissionDenied(_(quotes.OWNERS_ONLY) % {"owner": version.quote.owner})
    form = AnswerForm(request.POST or None)

    def tell(stored: QuoteVersion) -> None:
        quote_mail.tell_office(version=stored, link=request.build_absolute_uri(stored.get_absolute_url()))

    def save() -> QuoteVersion:
        stored = quotes.decide(version=version, by=request.user, told=tell, **form.cleaned_data)
        told = _("The firm is told.") if mail.is_set_up() else _(NO_MAIL_TO_FIRM)
        messages.success(request, f"{_answered(stored)} {told}")
        return stored

    def page() -> dict[str, Any]:
        return _page(request, version) | {"newest": _newest(request, version)}

    return save_or_show(request, form, save, "planning/quote_answer.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def quote_write_down(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.COORDINATOR, pk=pk)
    today = firm_today(version.quote.organisation)
    form = WrittenAnswerForm(request.POST or None, initial={"answered_on": today})

    def save() -> QuoteVersion:
        stored = quotes.write_down(version=version, by=request.user, **form.cleaned_data)
        messages.success(request, _answered(stored))
        return stored

    return save_or_show(
        request, form, save, "planning/quote_write_down.html", lambda: _page(request, version)
    )


def _answered(version: QuoteVersion) -> str:
    # Translators: state is "approved" or "declined".
    return _("{quote} is {state}.").format(quote=version, state=version.get_state_display().lower())


def _newest(request: PersonRequest, version: QuoteVersion) -> QuoteVersion | None:
    """A later version that the owner may read, where this one was replaced."""
    later = QuoteVersion.objects.for_user(request.user).filter(
        quote=version.quote, version__gt=version.version
    )
    return later.order_by("-version").first()
