"""Where a phone sends what it kept, and asks who is signed in."""

from http import HTTPStatus
from uuid import UUID

from django.middleware.csrf import get_token
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_safe

from accounts.views.current_organisation import PersonRequest
from fieldwork.calc.answers import Answer, Code, no
from fieldwork.calc.meta import EntryMeta, read
from fieldwork.views.bodies import for_scripts, parts_of
from fieldwork.views.dispatch import Sending, record

OTHER_PERSON = gettext_noop("This was recorded by somebody else on this phone. It is sent when they sign in.")


@require_http_methods(["PUT"])
@for_scripts
def field_entry(request: PersonRequest, entry: UUID) -> Answer:
    """Store an entry; sent again, it is answered as the first time."""
    received_at = now()
    posted, files = parts_of(request)
    meta = read(EntryMeta, posted.get("meta") or "")
    if meta.person != str(request.user.pk):
        return no(HTTPStatus.FORBIDDEN, Code.OTHER_PERSON, _(OTHER_PERSON))
    return record(request, Sending(entry, meta, files, request.user, meta.stamps(received_at)))


@require_safe
@for_scripts
def field_who(request: PersonRequest) -> Answer:
    """Who is signed in, and a fresh token to send with."""
    firm = request.current.organisation
    content = {
        "person": str(request.user.pk),
        "firm": str(firm.pk) if firm else "",
        "token": get_token(request),
        "now": now().isoformat(),
    }
    return Answer(HTTPStatus.OK.value, content)
