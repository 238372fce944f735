"""What a phone needs to put the program on its home screen (W3C Web Application Manifest)."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.utils.cache import patch_vary_headers
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from core.calc.translation import SOURCE_LANGUAGE

NAME = "Rainthrough"
ICONS = (
    ("home-192.png", "192x192", "any"),
    ("home-512.png", "512x512", "any"),
    ("home-whole-512.png", "512x512", "maskable"),
)
GROUND, STONE = "#e9ece7", "#1f2827"  # of the page by day, and of the bar above it


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Name, icons and first page: for who goes out with a crew that is their day.

    The same for all who read one language.
    """
    answer = JsonResponse(
        {
            "id": "/",
            "name": NAME,
            "short_name": NAME,
            "description": _("Permeable surfaces: tests, cleanings and the day of a crew."),
            "lang": (get_language() or SOURCE_LANGUAGE).partition("-")[0],
            "start_url": "/",
            "scope": "/",
            "display": "standalone",
            "background_color": GROUND,
            "theme_color": STONE,
            "icons": [_icon(*icon) for icon in ICONS],
        },
        content_type="application/manifest+json",
    )
    patch_vary_headers(answer, ("Accept-Language", "Cookie"))
    answer.headers["Cache-Control"] = "public, max-age=3600"
    return answer


def _icon(name: str, sizes: str, purpose: str) -> dict[str, str]:
    return {"src": static(f"icons/{name}"), "sizes": sizes, "type": "image/png", "purpose": purpose}
