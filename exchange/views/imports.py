"""Taking in spreadsheets: send, match the columns, look through, take in."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.units import UnitSystem
from core.presentation.exports import export_response, workbook_response
from core.presentation.tables import page_of_rows
from core.views.form_views import do_or_say, save_or_show
from exchange.calc.payloads import Matching, SheetHeads
from exchange.calc.ways import DecimalMark
from exchange.forms.imports import ImportForm, MatchForm
from exchange.models import DataImport
from exchange.presentation.imports import remark_headers, remark_rows, report_page, sample_sheets
from exchange.services import files, imports
from qa.selectors.days import firm_zone


@login_required
@require_http_methods(["GET", "POST"])
def import_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.TECHNICIAN)
    row = DataImport(
        organisation=organisation,
        made_by=request.user,
        units=request.current.units,
        decimals=DecimalMark.of_reader().value,
    )
    form = ImportForm(request.POST or None, request.FILES or None, instance=row)
    mine = DataImport.objects.for_user(request.user, Role.TECHNICIAN).of_organisation(organisation)
    rows = mine.defer("report_json", "heads_json", "matching_json").select_related("made_by")
    return save_or_show(
        request,
        form,
        lambda: imports.begin_import(data_import=row, sent=form.cleaned_data["sheets"]),
        "exchange/import_list.html",
        page=lambda: {"imports": page_of_rows(rows, request), "zone": firm_zone(organisation)},
    )


@login_required
@require_safe
def import_sample(request: PersonRequest) -> HttpResponseBase:
    require_role(request.current, Role.TECHNICIAN)
    return workbook_response(sample_sheets(UnitSystem(request.current.units)), "rainthrough-sample")


@login_required
@require_safe
def import_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)
    if not row.is_matched:
        return redirect("exchange:import-match", row.pk)
    report = row.report
    shown = report_page(report, stored=row.is_stored) if report and not row.is_unfinished else None
    may_store = (
        row.is_ready and DataImport.objects.for_user(request.user, row.least_role).filter(pk=pk).exists()
    )
    context = {"data_import": row, "report": shown, "may_store": may_store}
    return render(request, "exchange/import_detail.html", context)


@login_required
@require_safe
def import_progress(request: PersonRequest, pk: UUID) -> HttpResponse:
    """How far an import is, for the page to fetch anew while it is worked on."""
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)
    return render(request, "exchange/_import_progress.html", {"data_import": row})


@login_required
@require_http_methods(["GET", "POST"])
def import_match(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)
    heads, matching = row.heads or SheetHeads(), row.matching or Matching()
    form = MatchForm(request.POST or None, heads=heads, matching=matching)
    if "show" in request.POST:  # a sheet holds something else than was thought: offer the columns of that
        matching = files.matched_anew(row.organisation, heads, form.sent_kinds())
        form = MatchForm(heads=heads, matching=matching)
    return save_or_show(
        request,
        form,
        lambda: imports.match_columns(data_import=row, matching=form.chosen()),
        "exchange/import_match.html",
        data_import=row,
    )


@login_required
@require_safe
def import_remarks(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)
    report = row.report
    remarks = (*report.problems, *report.notices) if report else ()
    return export_response(remark_headers(), remark_rows(remarks), "csv", "import-problems")


@login_required
@require_POST
def import_store(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)
    row = get_for_user(DataImport, request.user, row.least_role, pk=pk)  # it may be of somebody who may more

    def store() -> str:
        imports.ask_to_store(data_import=row)
        return _("The sheets are being taken in.")

    return do_or_say(request, store, row)


@login_required
@require_POST
def import_discard(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(DataImport, request.user, Role.TECHNICIAN, pk=pk)

    def discard() -> str:
        imports.discard_import(data_import=row)
        return _("The import is thrown away. What was taken in before stays.")

    return do_or_say(request, discard, "exchange:import-list")
