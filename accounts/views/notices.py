"""What people are told: their list, opening one, choosing what, and ending the daily mail by its own link."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.forms.notices import NoticeChoiceForm
from accounts.models import Notice
from accounts.selectors.notices import (
    NoticePlace,
    chosen_at,
    digest_of,
    may_still_see,
    notice_of,
    notice_places,
    notices_of,
    place_chosen,
)
from accounts.services import notice_choices, telling
from accounts.views.current_organisation import OWN_SITES, SESSION_KEY, PersonRequest
from accounts.views.secret_addresses import UnknownSecretError, by_secret
from core.presentation.tables import page_of_rows
from core.services import mail
from core.views.form_views import save_or_show

GONE = gettext_noop("What this told of is not there any more, or you may not see it any more.")


@login_required
@require_safe
def notice_list(request: PersonRequest) -> HttpResponse:
    places, here = _places(request)
    rows = page_of_rows(notices_of(request.user, here.organisation), request) if here else None
    context = {"rows": rows, "links": _links(places, here, "accounts:notice-list"), "here": here}
    return render(request, "accounts/notice_list.html", context)


def _places(request: PersonRequest) -> tuple[list[NoticePlace], NoticePlace | None]:
    """The firms of a person and the one asked for. What is sent for one holds for no other: left meanwhile, 404."""
    asked = request.POST.get("firm", "") or request.GET.get("firm", "")
    places = notice_places(request.user)
    if request.method == "POST" and asked and asked not in {str(one.organisation.pk) for one in places}:
        raise Http404("This person belongs to that firm no more.")
    return places, place_chosen(places, asked, request.current.organisation)


def _links(places: list[NoticePlace], here: NoticePlace | None, route: str) -> list[dict[str, Any]]:
    """To the other firms, where there are several."""
    address = reverse(route)
    return [
        {"place": place, "url": f"{address}?firm={place.organisation.pk}", "is_here": place is here}
        for place in places
        if len(places) > 1
    ]


@login_required
@require_http_methods(["GET"])
def notice_open(request: PersonRequest, pk: UUID) -> HttpResponse:
    """Open what a notice tells of, as somebody of the firm or of the owner for which one was told."""
    notice = notice_of(request.user, pk)
    if notice is None:
        raise Http404("No such notice of this person.")
    telling.mark_read(notice=notice)
    if not may_still_see(request.user, notice):
        messages.warning(request, _(GONE))
        return redirect(f"{reverse('accounts:notice-list')}?firm={notice.organisation_id}")
    request.session[SESSION_KEY] = _acting_for(notice)
    return redirect(notice.path)


def _acting_for(notice: Notice) -> str:
    return OWN_SITES if notice.owner_id else str(notice.organisation_id)


@login_required
@require_POST
def notice_read_all(request: PersonRequest) -> HttpResponse:
    _, here = _places(request)
    if here is None:
        raise Http404("No firm tells this person anything.")
    count = telling.mark_all_read(user=request.user, organisation=here.organisation)
    said = ngettext("{count} notice marked as read.", "{count} notices marked as read.", count)
    messages.success(request, said.format(count=count))
    return redirect(f"{reverse('accounts:notice-list')}?firm={here.organisation.pk}")


@login_required
@require_http_methods(["GET", "POST"])
def notice_choose(request: PersonRequest) -> HttpResponse:
    places, here = _places(request)
    context: dict[str, Any] = {"links": _links(places, here, "accounts:notice-choose"), "here": here}
    if here is None:
        return render(request, "accounts/notice_choose.html", context)
    form = NoticeChoiceForm(request.POST or None, chosen=chosen_at(request.user, here))
    context["mail_is_set_up"] = mail.is_set_up()

    def save() -> str:
        return _chosen(request, here, form)

    return save_or_show(request, form, save, "accounts/notice_choose.html", **context)


def _chosen(request: PersonRequest, here: NoticePlace, form: NoticeChoiceForm) -> str:
    notice_choices.choose(
        user=request.user,
        organisation=here.organisation,
        mail_on=form.cleaned_data["mail_on"],
        mail_hour=form.cleaned_data["mail_hour"],
        ways=form.ways,
    )
    messages.success(request, _("What {firm} tells you is stored.").format(firm=here.organisation))
    return f"{reverse('accounts:notice-choose')}?firm={here.organisation.pk}"


# A mail program sends this without any cookie (RFC 8058, 3.1, from memory); the secret is the permission.
@csrf_exempt
@require_http_methods(["GET", "POST"])
@by_secret
def notice_stop(request: HttpRequest, secret: str) -> HttpResponse:
    """Open to strangers. Looking changes nothing, since programs that check mails for harm follow their links."""
    digest = digest_of(secret)
    if digest is None:
        raise UnknownSecretError("There is no daily mail behind this address.")
    if request.method == "POST":
        notice_choices.stop_mails(digest=digest)
    context = {"firm": digest.organisation, "is_done": request.method == "POST"}
    return render(request, "accounts/notice_stop.html", context)
