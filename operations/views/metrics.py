"""Numbers for whatever watches the server, for who knows the secret of the settings alone."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare
from django.utils.timezone import now
from django.views.decorators.http import require_safe
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4

from operations.presentation.metrics import metrics_text
from operations.selectors.numbers import numbers_at

SCHEME = "Bearer "


@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """The numbers; nothing at all to anybody else, who is not told that there is such a page."""
    if not _knows_the_secret(request.headers.get("Authorization", "")):
        raise Http404
    return HttpResponse(metrics_text(numbers_at(now())), CONTENT_TYPE_PLAIN_0_0_4)


def _knows_the_secret(given: str) -> bool:
    secret = settings.METRICS_TOKEN
    return bool(secret) and constant_time_compare(given, SCHEME + secret)
