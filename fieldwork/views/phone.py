"""What a phone keeps: which pages, the page of what waits on it, and the worker that answers without signal."""

from uuid import UUID

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.paving import TestMethod
from fieldwork.presentation.shell import shell_files, version
from fieldwork.selectors.kept_pages import Ahead, ahead_of, kept_pages
from planning.presentation.own_day import own_day
from planning.selectors.crew_days import crew_day
from qa.forms.field_tests import form_for
from qa.forms.rounds import offer_to_keep
from qa.models import InfiltrationTest, Surface, TestRound
from qa.views.round_pages import asked_method, guide_page, start_values
from qa.views.rounds import KEEP_LABEL

WORKER = "js/field-worker.js"


@login_required
@require_safe
def phone_show(request: PersonRequest) -> HttpResponse:
    """What waits on this phone; its scripts fill it in from what the phone holds."""
    return render(request, "fieldwork/phone.html", {})


@login_required
@require_safe
def page_list(request: PersonRequest) -> JsonResponse:
    """The pages that a phone is to keep for a person, and the scripts, styles and icons they need."""
    organisation = require_role(request.current, Role.TECHNICIAN)
    ahead = ahead_of(request.user, organisation, _ids(request.GET.getlist("surface")))
    pages = kept_pages(ahead, _steps(ahead), f"{version()} {get_language()}")
    listed = [{"address": page.address, "stamp": page.stamp} for page in pages]
    return JsonResponse(
        {"person": str(request.user.pk), "pages": listed, "shell": shell_files(), "version": version()}
    )


def _ids(asked: list[str]) -> list[UUID]:
    found = []
    for text in asked:
        try:
            found.append(UUID(text))
        except ValueError:
            continue  # not of ours: nothing to keep
    return found


def _steps(ahead: Ahead) -> list[str]:
    """Where each task is got done, as the pages of the days name it."""
    found = []
    for crew, on in dict.fromkeys((visit.crew, visit.visit_on) for visit in ahead.visits):
        back = f"/my-day/?crew={crew.pk}&on={on.isoformat()}"
        for stop in own_day(crew_day(crew, on), back).stops:
            pending = (line for line in stop.line.tasks if line.is_pending)
            found += [address for line in pending for address in (line.url, line.drop_url) if address]
    return found


@login_required
@require_safe
def blank_test(request: PersonRequest, pk: UUID) -> HttpResponse:
    """The form for a test of a round that is still on the phone: as for a new round of today."""
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    round_ = TestRound(surface=surface, tested_on=surface.site.today())
    test = InfiltrationTest(round=round_, method=asked_method(request.GET.get("method", "")))
    form = form_for(test, None, start_values(test, request, None))
    offer_to_keep(form, _(KEEP_LABEL))
    template = "fieldwork/blank_ring_test.html" if test.is_ring else "fieldwork/blank_field_test.html"
    others = [(value, name) for value, name in TestMethod.choices() if value != test.method]
    return render(
        request, template, {"form": form, "others": others, **guide_page(test, request.current.units)}
    )


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker: from the root, so that it answers for every page. The same for everybody."""
    script = (settings.BASE_DIR / "static" / WORKER).read_text(encoding="utf-8")
    answer = HttpResponse(script, content_type="text/javascript; charset=utf-8")
    answer.headers["Cache-Control"] = "no-cache"
    return answer
