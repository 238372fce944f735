"""Secret links as the office sees them: made, shown once, listed with their openings, revoked."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models import Owner
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.tables import page_of_rows
from core.views.form_views import do_or_say, save_or_show
from qa.models import Site
from qa.selectors.days import firm_today, firm_zone
from reporting.calc.sharing import last_day_at_most
from reporting.forms.sharing import InspectorForm, LinkForm
from reporting.models import SharedLink, Snapshot
from reporting.selectors.links import counted_link, links_of
from reporting.services import links
from reporting.views.documents import USUAL_PERIOD

OPENINGS_SHOWN = 200


@login_required
@require_safe
def link_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    rows = page_of_rows(links_of(request.user, organisation), request)
    return render(request, "reporting/link_list.html", {"rows": rows, "zone": firm_zone(organisation)})


@login_required
@require_http_methods(["GET", "POST"])
def link_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    document = get_for_user(Snapshot, request.user, Role.COORDINATOR, pk=pk)
    links.check_shareable(document)
    link = SharedLink(ends_on=links.usual_last_day(document.organisation), units=request.current.units)
    form = LinkForm(request.POST or None, instance=link)
    return save_or_show(
        request,
        form,
        lambda: links.share_document(link=link, document=document, by=request.user),
        "reporting/link_form.html",
        document=document,
        latest=last_day_at_most(firm_today(document.organisation)),
    )


@login_required
@require_http_methods(["GET", "POST"])
def inspector_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    today = firm_today(organisation)
    link = SharedLink(
        since=today - USUAL_PERIOD, ends_on=links.usual_last_day(organisation), units=request.current.units
    )
    sites = Site.objects.for_user(request.user, Role.COORDINATOR).of_organisation(organisation)
    owners = Owner.objects.for_user(request.user, Role.COORDINATOR).of_organisation(organisation)
    form = InspectorForm(request.POST or None, instance=link, sites=sites, owners=owners)

    def save() -> SharedLink:
        chosen = form.cleaned_data["chosen"]
        return links.share_sites(link=link, organisation=organisation, sites=chosen, by=request.user)

    return save_or_show(request, form, save, "reporting/inspector_form.html", latest=last_day_at_most(today))


@login_required
@require_safe
def link_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    link = get_for_user(SharedLink, request.user, Role.COORDINATOR, pk=pk)
    openings, zone = link.openings.all()[:OPENINGS_SHOWN], firm_zone(link.organisation)
    context = {"link": counted_link(link), "openings": openings, "zone": zone}
    return render(request, "reporting/link_detail.html", context)


@login_required
@require_POST
def link_address(request: PersonRequest, pk: UUID) -> HttpResponse:
    """The page itself answers, since the secret must not lie in a session or a message until the next one."""
    link = get_for_user(SharedLink, request.user, Role.COORDINATOR, pk=pk)
    secret = links.make_address(link=link, to=request.user)
    address = request.build_absolute_uri(reverse("reporting:shared-show", args=[secret]))
    return render(request, "reporting/link_made.html", {"link": link, "address": address})


@login_required
@require_POST
def link_revoke(request: PersonRequest, pk: UUID) -> HttpResponse:
    link = get_for_user(SharedLink, request.user, Role.COORDINATOR, pk=pk)

    def revoke() -> str:
        links.revoke_link(link=link, by=request.user)
        return _("The link is revoked. Whoever opens it is told that it has ended.")

    return do_or_say(request, revoke, link)
