"""The drawings of a report, each asked for by the page that names it: `?of=` a surface `&as=` a kind."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import override
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest, audience_of
from qa.models import Site
from reporting.calc.schemas import Kept
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot
from reporting.models import Snapshot
from reporting.presentation.drawing_files import DrawingKind, drawing_of, standing_alone
from reporting.selectors.kept import thaw
from reporting.selectors.sites import reported_surface


@login_required
@require_safe
def report_drawing(request: PersonRequest, pk: UUID) -> HttpResponse:
    """As the report of today draws it."""
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, site.organisation)
    key, kind = _asked_surface(request), _asked_kind(request)
    if not key or not kind:
        return _found(None)
    surface = reported_surface(site, key, audience, with_record=kind is DrawingKind.DECLINE)
    return _found(_drawn(surface, kind, request.current.units))


@login_required
@require_safe
def kept_drawing(request: PersonRequest, pk: UUID) -> HttpResponse:
    """As a kept report draws it."""
    document = get_for_user(Snapshot, request.user, Role.OWNER, pk=pk)
    with override(document.language):
        return _found(drawing_response(request, thaw(document), request.current.units))


def drawing_response(request: HttpRequest, document: Kept, units: str) -> HttpResponse | None:
    """The drawing of a kept report that the address asks for; None where the document has none such."""
    key = _asked_surface(request)
    surfaces = document.surfaces if isinstance(document, ReportSnapshot) else ()
    surface = next((each for each in surfaces if each.standing.key == key), None)
    return _drawn(surface, _asked_kind(request), units)


def _asked_surface(request: HttpRequest) -> UUID | None:
    asked = request.GET.get("of", "")
    return UUID(asked) if len(asked) == 32 and set(asked) <= set("0123456789abcdef") else None


def _asked_kind(request: HttpRequest) -> DrawingKind | None:
    return next((each for each in DrawingKind if each == request.GET.get("as")), None)


def _drawn(surface: ReportedSurface | None, kind: DrawingKind | None, units: str) -> HttpResponse | None:
    svg = drawing_of(surface, kind, units) if surface and kind else ""
    if not svg:
        return None
    answer = HttpResponse(standing_alone(svg), content_type="image/svg+xml")
    answer.headers["Cache-Control"] = "private, max-age=300"
    return answer


def _found(answer: HttpResponse | None) -> HttpResponse:
    if answer is None:
        raise Http404("There is no such drawing. Open the report again.")
    return answer
