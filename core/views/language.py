"""In which language a page is written."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers

from core.services.texts import gather_texts


class LanguageMiddleware:
    """Writes a page in the language that the person chose, or as their browser asks where nobody chose.

    The language stays set when the page is done, since lines of a table may only then be written while they are sent.
    The next request of this process sets its own.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        chosen = _chosen_by(request)
        language = chosen or translation.get_language_from_request(request)
        translation.activate(language)
        gather_texts(language)
        response = self.get_response(request)
        response.headers.setdefault("Content-Language", translation.get_language() or "")
        if not chosen:
            patch_vary_headers(response, ("Accept-Language",))
        return response


def _chosen_by(request: HttpRequest) -> str:
    """What a person who is signed in chose. Without a session nobody is looked for, so that probes cost no query."""
    if settings.SESSION_COOKIE_NAME not in request.COOKIES:
        return ""
    return str(getattr(request.user, "language", ""))
