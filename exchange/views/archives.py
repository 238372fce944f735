"""Everything a firm has, taken away and brought back."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from accounts.views.fresh_sign_in import require_fresh_sign_in
from core.views.form_views import do_or_say, save_or_show
from exchange.forms.archives import RestoreForm
from exchange.models import DataExport, Restoration
from exchange.selectors.tables import left_out
from exchange.services import exports, restoring
from qa.selectors.days import firm_zone

GONE = gettext_noop("The archive is gone: archives are kept for seven days. Have another one made.")


@login_required
@require_safe
def export_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    mine = DataExport.objects.for_user(request.user, Role.ADMIN).of_organisation(organisation)
    back = Restoration.objects.for_user(request.user, Role.ADMIN).of_organisation(organisation)
    context = {"exports": mine.select_related("made_by"), "left_out": left_out(), "restored": back.first()}
    return render(request, "exchange/export_list.html", context | {"zone": firm_zone(organisation)})


@login_required
@require_POST
def export_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    require_fresh_sign_in(request)

    def ask() -> str:
        exports.ask_for_export(organisation=organisation, by=request.user)
        return _("The archive is being made.")

    return do_or_say(request, ask, "exchange:export-list")


@login_required
@require_safe
def export_progress(request: PersonRequest, pk: UUID) -> HttpResponse:
    """How far an archive is, for the page to fetch anew while it is made."""
    export = get_for_user(DataExport, request.user, Role.ADMIN, pk=pk)
    return render(
        request, "exchange/_export_progress.html", {"export": export, "zone": firm_zone(export.organisation)}
    )


@login_required
@require_safe
def export_download(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    export = get_for_user(DataExport, request.user, Role.ADMIN, pk=pk)
    require_fresh_sign_in(request, also_to_look=True)
    if not export.content:
        raise Http404(_(GONE))
    try:
        opened = export.content.open("rb")
    except FileNotFoundError as error:
        raise Http404(_(GONE)) from error
    name = f"rainthrough-{export.created_at:%Y-%m-%d}.zip"
    return FileResponse(opened, as_attachment=True, filename=name, content_type="application/zip")


@login_required
@require_POST
def export_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    export = get_for_user(DataExport, request.user, Role.ADMIN, pk=pk)

    def remove() -> str:
        exports.remove_export(export=export)
        return _("The archive is gone.")

    return do_or_say(request, remove, "exchange:export-list")


@login_required
@require_http_methods(["GET", "POST"])
def restore_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    row = Restoration(organisation=organisation, made_by=request.user)
    form = RestoreForm(request.POST or None, request.FILES or None, instance=row)
    return save_or_show(
        request,
        form,
        lambda: restoring.ask_to_restore(restoration=row, sent=form.cleaned_data["archive"]),
        "exchange/restore_create.html",
    )
