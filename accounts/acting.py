"""Which firm a person acts for in this request."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from accounts.models import Membership, Organisation, OwnerPerson, Units, User
from accounts.roles import Role

SESSION_KEY = "acting_organisation"
OWN_SITES = "own-sites"  # in place of a firm's id: reading one's own sites as an owner's person


@dataclass(frozen=True, slots=True)
class Acting:
    """The firm, the role in it, and the other firms the person could switch to."""

    organisation: Organisation | None
    role: int
    others: tuple[Organisation, ...]
    units: str
    could_read_own_sites: bool = False

    @property
    def can_record(self) -> bool:
        """May record tests and cleanings."""
        return self.role >= Role.TECHNICIAN

    @property
    def can_plan(self) -> bool:
        """May register sites and surfaces, plan visits, decide recommendations."""
        return self.role >= Role.COORDINATOR

    @property
    def can_administer(self) -> bool:
        """May invite people and change the firm's settings."""
        return self.role >= Role.ADMIN


class PersonRequest(HttpRequest):
    """What a view behind `login_required` receives: a signed-in user, and the firm acted for."""

    user: User
    acting: Acting


class ActingMiddleware:
    """Sets `request.acting`, read from the database only where a page asks for it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.acting = SimpleLazyObject(lambda: acting_for(request))  # type: ignore[attr-defined]
        return self.get_response(request)


def acting_for(request: HttpRequest) -> Acting:
    """The firm last chosen in this session, or the one where the person's role is highest."""
    if not request.user.is_authenticated:
        return Acting(None, 0, (), Units.SI)
    memberships = list(Membership.objects.filter(user=request.user).select_related("organisation"))
    if not memberships:
        return Acting(None, Role.OWNER, (), request.user.units)
    chosen = request.session.get(SESSION_KEY)
    owns = OwnerPerson.objects.filter(user=request.user).exists()
    if chosen == OWN_SITES and owns:
        return Acting(None, Role.OWNER, tuple(m.organisation for m in memberships), request.user.units)
    here = next((m for m in memberships if str(m.organisation_id) == chosen), memberships[0])
    others = tuple(m.organisation for m in memberships if m is not here)
    return Acting(here.organisation, here.role, others, request.user.units, could_read_own_sites=owns)
