"""Which firm a person acts for in this request."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models import Organisation, User
from accounts.selectors.memberships import memberships_of, reads_for_an_owner
from core.calc.units import UnitSystem
from core.services import log_context

SESSION_KEY = "current_organisation"
OWN_SITES = "own-sites"  # in place of a firm's id: reading one's own sites as an owner's person


@dataclass(frozen=True, slots=True)
class CurrentOrganisation:
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

    def acts_for(self, organisation: Organisation) -> bool:
        """Whether this is the firm: what its people note is for them alone."""
        return self.organisation == organisation

    @property
    def can_administer(self) -> bool:
        """May invite people and change the firm's settings."""
        return self.role >= Role.ADMIN


def audience_of(current: CurrentOrganisation, organisation: Organisation) -> Audience:
    """As whom a person reads what belongs to `organisation`: as its people when acting for it, else as an owner's."""
    return Audience.FIRM if current.organisation == organisation else Audience.OWNER


class PersonRequest(HttpRequest):
    """What a view behind `login_required` receives: a signed-in user, and the firm acted for."""

    user: User
    current: CurrentOrganisation


class CurrentOrganisationMiddleware:
    """Sets `request.current`, read from the database only where a page asks for it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.current = SimpleLazyObject(lambda: _told(request))  # type: ignore[attr-defined]
        return self.get_response(request)


def _told(request: HttpRequest) -> CurrentOrganisation:
    """The firm acted for; from here on the lines of the log say whose request it is."""
    current = current_organisation_of(request)
    if request.user.is_authenticated:
        log_context.name_person(request.user.pk, current.organisation and current.organisation.pk)
    return current


def current_organisation_of(request: HttpRequest) -> CurrentOrganisation:
    """The firm last chosen in this session, or the one where the person's role is highest."""
    if not request.user.is_authenticated:
        return CurrentOrganisation(None, 0, (), UnitSystem.SI)
    memberships = memberships_of(request.user)
    if not memberships:
        return CurrentOrganisation(None, Role.OWNER, (), request.user.units)
    chosen = request.session.get(SESSION_KEY)
    owns = reads_for_an_owner(request.user)
    if chosen == OWN_SITES and owns:
        return CurrentOrganisation(
            None, Role.OWNER, tuple(m.organisation for m in memberships), request.user.units
        )
    here = next((m for m in memberships if str(m.organisation_id) == chosen), memberships[0])
    others = tuple(m.organisation for m in memberships if m is not here)
    return CurrentOrganisation(
        here.organisation, here.role, others, request.user.units, could_read_own_sites=owns
    )
