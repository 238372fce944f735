"""All open checks of one stage on one screen, for who takes them every day."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.calc.format import counted
from core.views.form_views import save_or_show
from qa.calc.check_progress import Outcome
from qa.forms.stage import StageForm
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord
from qa.selectors.construction import record_state
from qa.services import construction


@login_required
@require_http_methods(["GET", "POST"])
def stage_record(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.TECHNICIAN, pk=pk)
    state = record_state(check.record, request.current.units)
    stage = next(each for each in state.stages if each.stage == check.stage)
    form = StageForm(
        request.POST or None,
        request.FILES or None,
        stage=stage,
        units=request.current.units,
        initial={"done_on": check.record.surface.site.today()},
    )
    return save_or_show(
        request,
        form,
        lambda: _store(request, form, check.record),
        "qa/stage_form.html",
        stage=stage,
        record=check.record,
        surface=check.record.surface,
    )


def _store(request: PersonRequest, form: StageForm, record: ConstructionRecord) -> ConstructionRecord:
    """Store what was given, or put each refusal beside its check, where nothing is stored."""
    try:
        stored = construction.record_entries(given=form.given, by=request.user)
    except construction.RefusedEntriesError as error:
        form.refuse(error.refused)
        raise ValidationError(construction.NONE_STORED) from error
    _say(request, form, stored)
    return record


def _say(request: PersonRequest, form: StageForm, stored: list[CheckEntry]) -> None:
    messages.success(
        request,
        _("{stage}: {findings} stored.").format(
            stage=form.stage.stage.label, findings=counted(len(stored), "finding")
        ),
    )
    for entry in (each for each in stored if each.outcome == Outcome.FAILED):
        asked = entry.construction_check.as_read(request.current.units).asked
        messages.warning(request, _("Not as asked: {asked}").format(asked=asked))
