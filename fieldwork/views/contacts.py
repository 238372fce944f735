"""Where a phone tells what it holds, and learns what the server does not have."""

from http import HTTPStatus

from django.utils.timezone import now
from django.views.decorators.http import require_POST

from accounts.selectors.memberships import memberships_of
from accounts.views.current_organisation import PersonRequest
from fieldwork.calc.answers import Answer
from fieldwork.calc.meta import read
from fieldwork.calc.phones import Contact
from fieldwork.models import HeldEntry
from fieldwork.selectors.entries import unknown_among
from fieldwork.services.phones import note_contact
from fieldwork.views.bodies import for_scripts


@require_POST
@for_scripts
def field_contact(request: PersonRequest) -> Answer:
    """Keep what the phone told. Somebody without a firm records nothing, so that nothing of theirs is kept."""
    contact, at = read(Contact, request.body), now()
    lost: list[HeldEntry] = []
    if request.current.organisation:
        lost = note_contact(
            person=request.user,
            firms={str(one.organisation_id): one.organisation for one in memberships_of(request.user)},
            acting_for=request.current.organisation,
            contact=contact,
            at=at,
        )
    content = {
        "unknown": [str(one) for one in unknown_among(contact.sent)],
        "now": at.isoformat(),
        "lost": [{"id": str(one.entry), "title": one.title, "about": one.about} for one in lost],
    }
    return Answer(HTTPStatus.OK.value, content)
