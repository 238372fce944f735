"""What is written: rounds, tests, cleanings and inspections once, sites and surfaces anew."""

from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from api.calc.problems import ProblemError, Wrong, pointer_of
from api.calc.scopes import Scope
from api.forms import recording
from api.forms.bodies import CleaningIn, InspectionIn, RoundIn, SiteIn, SurfaceIn, TestIn
from api.presentation import observations, places, records
from api.selectors import rows
from api.selectors.tokens import Caller
from api.views import reading
from api.views.bearer import needs
from api.views.putting import REFUSED, Way, put_editable, put_record
from maintenance.models import CleaningEvent
from maintenance.services.cleanings import record_cleaning
from qa.forms.rounds import KEEP, refuse_loss, refuse_surprise
from qa.models import InfiltrationTest, Inspection, Site, Surface, TestRound
from qa.services import inspections, register, rounds

router = reading.router  # one path answers to GET and to PUT
M = TypeVar("M", bound=Model)
NO_SUCH = gettext_noop("There is no such %(what)s that this token may write on. Check the id.")
STAYS = gettext_noop("A surface stays at its site. Leave the site as it is.")


def _named(found_in: QuerySet[M], key: UUID, what: str) -> M:
    """What a body names by its id. Raises ProblemError, 422, where it is not there."""
    row = found_in.filter(pk=key).first()
    if row is None:
        wrong = Wrong(_(NO_SUCH) % {"what": _(what)}, pointer_of((what,)), value=str(key))
        raise ProblemError(422, _(REFUSED), [wrong])
    return row


def _surface(caller: Caller, key: UUID) -> Surface:
    return _named(
        rows.surfaces(caller).select_related("site__organisation", "site__owner"),
        key,
        gettext_noop("surface"),
    )


def _save_test(test: InfiltrationTest, form: Any, caller: Caller) -> InfiltrationTest:
    """As the page of a test: what would not count in full, or is odd, is told first and kept when that is asked."""
    if not form.cleaned_data[KEEP]:
        refuse_loss(rounds.foreseen_loss(test))
        refuse_surprise(rounds.foreseen_surprise(test))
    return rounds.record_test(test=test, by=caller.person)


SITES = Way(
    what=gettext_noop("site"),
    model=Site,
    rows=rows.sites,
    show=places.site_out,
    begin=lambda caller, body: Site(organisation=caller.organisation),
    fill=recording.site_form,
    odd=lambda body, site, form: recording.odd_in_site(body, form),
    save=lambda site, form, caller: register.save_site(site=site),
)
SURFACES = Way(
    what=gettext_noop("surface"),
    model=Surface,
    rows=rows.surfaces,
    show=places.surface_out,
    begin=lambda caller, body: Surface(site=_named(rows.sites(caller), body.site, gettext_noop("site"))),
    fill=recording.surface_form,
    odd=lambda body, surface, form: (
        [] if body.site == surface.site_id else [Wrong(_(STAYS), pointer_of(("site",)), value=str(body.site))]
    ),
    save=lambda surface, form, caller: register.save_surface(surface=surface),
)
ROUNDS = Way(
    what=gettext_noop("test round"),
    model=TestRound,
    rows=rows.rounds,
    show=records.round_out,
    begin=lambda caller, body: TestRound(surface=_surface(caller, body.surface)),
    fill=recording.round_form,
    save=lambda round_, form, caller: rounds.record_round(round_=round_, by=caller.person),
)
TESTS = Way(
    what=gettext_noop("test"),
    model=InfiltrationTest,
    rows=rows.tests,
    show=observations.test_out,
    begin=lambda caller, body: InfiltrationTest(
        round=_named(rows.rounds(caller), body.round, gettext_noop("round")), method=body.method.value
    ),
    fill=recording.test_form,
    odd=lambda body, test, form: recording.odd_in_test(body, form),
    save=_save_test,
)
CLEANINGS = Way(
    what=gettext_noop("cleaning"),
    model=CleaningEvent,
    rows=rows.cleanings,
    show=records.cleaning_out,
    begin=lambda caller, body: CleaningEvent(surface=_surface(caller, body.surface)),
    fill=recording.cleaning_form,
    odd=lambda body, event, form: recording.odd_in_cleaning(body, event),
    save=lambda event, form, caller: record_cleaning(event=event, by=caller.person),
)
INSPECTIONS = Way(
    what=gettext_noop("inspection"),
    model=Inspection,
    rows=rows.inspections,
    show=records.inspection_out,
    begin=lambda caller, body: Inspection(surface=_surface(caller, body.surface)),
    fill=recording.inspection_form,
    odd=lambda body, inspection, form: recording.odd_in_inspection(body, inspection),
    save=lambda inspection, form, caller: inspections.record_inspection(
        inspection=inspection, found=form.found, by=caller.person
    ),
)


@router.put(
    "/sites/{uuid:key}",
    url_name="site",
    response={201: places.SiteOut, 200: places.SiteOut},
    tags=["Sites"],
    **needs(Scope.PLAN_SITES),
)
def write_site(request: HttpRequest, key: UUID, body: SiteIn) -> HttpResponse:
    """Make a site under your id, or change it: then its ETag belongs into If-Match."""
    return put_editable(request, SITES, key, body)


@router.put(
    "/surfaces/{uuid:key}",
    url_name="surface",
    response={201: places.SurfaceOut, 200: places.SurfaceOut},
    tags=["Surfaces"],
    **needs(Scope.PLAN_SURFACES),
)
def write_surface(request: HttpRequest, key: UUID, body: SurfaceIn) -> HttpResponse:
    """Make a surface under your id, or change it: then its ETag belongs into If-Match."""
    return put_editable(request, SURFACES, key, body)


@router.put(
    "/rounds/{uuid:key}",
    url_name="round",
    response={201: records.RoundOut, 200: records.RoundOut},
    tags=["Tests"],
    **needs(Scope.RECORD_ROUNDS),
)
def write_round(request: HttpRequest, key: UUID, body: RoundIn) -> HttpResponse:
    """Record a test round under your id."""
    return put_record(request, ROUNDS, key, body)


@router.put(
    "/tests/{uuid:key}",
    url_name="test",
    response={201: observations.TestOut, 200: observations.TestOut},
    tags=["Tests"],
    **needs(Scope.RECORD_TESTS),
)
def write_test(request: HttpRequest, key: UUID, body: TestIn) -> HttpResponse:
    """Record a test under your id: its readings as they were taken. The rate is worked out here."""
    return put_record(request, TESTS, key, body)


@router.put(
    "/cleanings/{uuid:key}",
    url_name="cleaning",
    response={201: records.CleaningOut, 200: records.CleaningOut},
    tags=["Cleanings"],
    **needs(Scope.RECORD_CLEANINGS),
)
def write_cleaning(request: HttpRequest, key: UUID, body: CleaningIn) -> HttpResponse:
    """Record a cleaning under your id."""
    return put_record(request, CLEANINGS, key, body)


@router.put(
    "/inspections/{uuid:key}",
    url_name="inspection",
    response={201: records.InspectionOut, 200: records.InspectionOut},
    tags=["Inspections"],
    **needs(Scope.RECORD_INSPECTIONS),
)
def write_inspection(request: HttpRequest, key: UUID, body: InspectionIn) -> HttpResponse:
    """Record an inspection under your id, with what it found."""
    return put_record(request, INSPECTIONS, key, body)
