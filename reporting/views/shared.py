"""What strangers open by a secret link. The secret is the permission; nothing here asks who they are."""

import logging
from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.utils.translation import get_language, gettext_noop, override
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.views.secret_addresses import UnknownSecretError, by_secret
from core.calc.devices import device_kind
from core.errors import UnreadablePayloadError
from core.presentation.exports import export_response
from reporting.calc.inspecting import InspectorSnapshot
from reporting.calc.sharing import LinkPart
from reporting.models import SharedLink
from reporting.presentation.inspecting import inspector_headers, inspector_page, inspector_rows
from reporting.selectors.certificates import certificate_snapshot
from reporting.selectors.inspecting import READER, inspector_snapshot, round_behind
from reporting.selectors.kept import thaw
from reporting.selectors.links import language_behind, link_behind, opens
from reporting.services.links import note_opening
from reporting.services.papers import paper_of
from reporting.views.documents import certificate_response, paper_response
from reporting.views.drawings import drawing_response
from reporting.views.kept import page_of

log = logging.getLogger(__name__)

UNKNOWN = gettext_noop(
    "No document is at this address. It may be mistyped or cut off: open the link as it was given to you, or copy it "
    "whole."
)
ENDED = gettext_noop("This link has ended. Ask whoever gave it to you for a new one.")
NOT_THERE = gettext_noop("This is not behind the link. Go back to its page and follow what is offered there.")
UNREADABLE = gettext_noop("The document cannot be read at the moment. Tell whoever gave you the link.")
# Out of caches and of search engines; and no page that is opened from here is told the address.
HEADERS = {
    "Cache-Control": "no-store, private",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "no-referrer",
}


Answer = Callable[[HttpRequest, SharedLink], HttpResponse]


def _shared(part: LinkPart | None) -> Callable[[Answer], Callable[..., HttpResponse]]:
    """Give a view the link behind the secret, if it opens, and count the opening; else say that it does not.

    part: what was opened; None where it belongs to a page that was counted.
    """

    def decorate(view: Answer) -> Callable[..., HttpResponse]:
        @require_safe
        @wraps(view)
        def answered(request: HttpRequest, secret: str) -> HttpResponse:
            answer = _in_words(request, secret, part, view)
            for name, value in HEADERS.items():
                answer.headers[name] = value
            return answer

        return answered

    return decorate


def _in_words(request: HttpRequest, secret: str, part: LinkPart | None, view: Answer) -> HttpResponse:
    """The answer, or why there is none in words that tell nothing of a document."""
    try:
        return _behind(request, secret, part, view)
    except UnknownSecretError:
        return _said(request, UNKNOWN, HTTPStatus.NOT_FOUND)
    except UnreadablePayloadError:
        log.exception("A document behind a link cannot be read")
        return _said(request, UNREADABLE, HTTPStatus.INTERNAL_SERVER_ERROR)


@by_secret
def _behind(request: HttpRequest, secret: str, part: LinkPart | None, view: Answer) -> HttpResponse:
    link = link_behind(secret)
    if link is None:
        raise UnknownSecretError(UNKNOWN)
    with override(language_behind(link)):
        if not opens(link):
            return _said(request, ENDED, HTTPStatus.GONE)
        answer = view(request, link)
        answer.headers["Content-Language"] = get_language() or ""
    if part and answer.status_code == HTTPStatus.OK and _is_opening(request, link):
        note_opening(link_id=link.pk, part=part, device=device_kind(request.headers.get("User-Agent", "")))
    return answer


def _is_opening(request: HttpRequest, link: SharedLink) -> bool:
    """Whether it is to be counted: not where only the head is asked for, and not where the office looks itself."""
    if request.method != "GET":
        return False
    person: Any = request.user
    mine = SharedLink.objects.for_user(person, Role.COORDINATOR) if person.is_authenticated else None
    return mine is None or not mine.filter(pk=link.pk).exists()


def _said(request: HttpRequest, text: str, status: HTTPStatus) -> HttpResponse:
    return render(request, "reporting/shared_refused.html", {"text": _(text), "nav": ()}, status=status)


@_shared(LinkPart.PAGE)
def shared_show(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The page of the document or of the inspector."""
    frame = {"link": link, "units": link.units, "nav": ()}
    if link.document is None:
        page = inspector_page(inspector_snapshot(link))
        return render(request, "reporting/shared_inspector.html", frame | page)
    snapshot = thaw(link.document)
    frame |= {"document": link.document}
    return render(request, "reporting/shared_document.html", frame | page_of(snapshot, link.units))


@_shared(None)
def shared_drawing(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """A drawing of the document."""
    answer = drawing_response(request, thaw(link.document), link.units) if link.document else None
    return answer or _said(request, NOT_THERE, HTTPStatus.NOT_FOUND)


@_shared(LinkPart.PAPER)
def shared_paper(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The document as a PDF to save."""
    if link.document is None:
        return _said(request, NOT_THERE, HTTPStatus.NOT_FOUND)
    paper = paper_of(thaw(link.document), link.units)
    return paper_response(paper, slugify(link.document.title)[:80])


@_shared(LinkPart.CERTIFICATE)
def shared_certificate(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The certificate of a round that the inspector's page shows, named in the address."""
    round_ = None if link.document else round_behind(link, request.GET.get("round", ""))
    if round_ is None:
        return _said(request, NOT_THERE, HTTPStatus.NOT_FOUND)
    snapshot = certificate_snapshot(round_, READER)
    return certificate_response(snapshot, link.units)


@_shared(LinkPart.ROWS)
def shared_rows(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The lines of the inspector's page as CSV."""
    if link.document is not None:
        return _said(request, NOT_THERE, HTTPStatus.NOT_FOUND)
    snapshot = inspector_snapshot(link)
    return _as_csv(snapshot, link.units)


def _as_csv(snapshot: InspectorSnapshot, units: str) -> HttpResponse:
    name = f"tests-and-works-{snapshot.since.isoformat()}-to-{snapshot.until.isoformat()}"
    answer: Any = export_response(
        inspector_headers(units), list(inspector_rows(snapshot, units)), "csv", name
    )
    return answer  # type: ignore[no-any-return]
