"""Rain records."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from qa.forms.rain import RainRecordForm, RainTableForm
from qa.models import RainRecord, TestRound
from qa.presentation.rain_records import doubt_rows, rain_columns, year_rows
from qa.selectors.rain_records import KnownRain, doubtful_rounds, months_of
from qa.services import rain_records


@login_required
@require_safe
def rain_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    records = RainRecord.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    return render(request, "qa/rain_list.html", {"records": records.prefetch_related("sites")})


@login_required
@require_http_methods(["GET", "POST"])
def rain_create(request: PersonRequest) -> HttpResponse:
    return _rain_form(request, RainRecord(organisation=require_role(request.current, Role.COORDINATOR)))


@login_required
@require_http_methods(["GET", "POST"])
def rain_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _rain_form(request, get_for_user(RainRecord, request.user, Role.COORDINATOR, pk=pk))


def _rain_form(request: PersonRequest, record: RainRecord) -> HttpResponse:
    form = RainRecordForm(request.POST or None, instance=record)
    return save_or_show(
        request,
        form,
        lambda: rain_records.save_rain_record(record=record),
        "qa/rain_form.html",
        record=record,
        stored=record.created_at is not None,
    )


@login_required
@require_safe
def rain_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    record = get_for_user(RainRecord, request.user, Role.VIEWER, pk=pk)
    known = KnownRain(record)
    rounds = TestRound.objects.for_user(request.user, Role.VIEWER)
    units = request.current.units
    context = {
        "record": record,
        "columns": rain_columns(),
        "years": year_rows(months_of(record, known), units),
        "sites": record.sites.all(),
        "doubts": doubt_rows(doubtful_rounds(record, rounds, known)),
    }
    return render(request, "qa/rain_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def rain_add(request: PersonRequest, pk: UUID) -> HttpResponse:
    """A table of the record's rain."""
    record = get_for_user(RainRecord, request.user, Role.COORDINATOR, pk=pk)
    form = RainTableForm(request.POST or None, request.FILES or None, record=record)
    return save_or_show(
        request,
        form,
        lambda: rain_records.add_table(record=record, table=form.found) if form.found else record,
        "qa/rain_add.html",
        record=record,
    )
