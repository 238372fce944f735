"""Pages sent compressed: a page of a firm is seven times as large without."""

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware


class PageCompression(GZipMiddleware):
    """Compresses pages, and nothing that is a file: pieces of videos must keep their places and lengths.

    That what is compressed tells by its length what it holds (the attack called BREACH) takes somebody who has a
    signed-in browser ask for a page with words of theirs, many times, and sees the lengths. Other sites cannot: the
    session's cookie is sent with no request of theirs but a link that a person follows (SameSite=Lax). The form token
    reads differently in each answer, and up to a hundred random bytes lengthen each (Django's, after "Heal the
    Breach"). Addresses with a secret in them are shown once, on a page that takes no words from its address.
    """

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """Compress a page where the browser takes it so."""
        is_page = isinstance(response, HttpResponse) and response.get("Content-Type", "").startswith(
            "text/html"
        )
        return super().process_response(request, response) if is_page else response
