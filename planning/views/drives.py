"""Drives of a firm from a file of its own."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import do_or_say, save_or_show
from planning.forms.drives import DriveFileForm
from planning.models import DriveTable
from planning.services import drives


@login_required
@require_http_methods(["GET", "POST"])
def drive_table(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    form = DriveFileForm(request.POST or None, request.FILES or None)
    mine = DriveTable.objects.for_user(request.user, Role.ADMIN).of_organisation(organisation)

    def save() -> str:
        sent = form.cleaned_data["file"]
        table = drives.store_drives(
            organisation=organisation, by=request.user, file_name=sent.name, content=sent.read()
        )
        number = len(table.drives.drives)
        said = ngettext(
            "{count} drive stored; new plans use them.", "{count} drives stored; new plans use them.", number
        )
        messages.success(request, said.format(count=number))
        return "planning:drive-table"

    return save_or_show(
        request, form, save, "planning/drive_table.html", page=lambda: {"table": mine.first()}
    )


@login_required
@require_POST
def drive_table_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    table = get_for_user(DriveTable, request.user, Role.ADMIN, pk=pk)
    return do_or_say(request, lambda: _removed(table), "planning:drive-table")


def _removed(table: DriveTable) -> str:
    drives.remove_drives(table=table)
    return _("The file is gone. New plans tell drives by great circles.")
