"""What the pages are made of besides their text: scripts, styles and icons, and which version of them this is."""

from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.templatetags.static import static

PARTS = ("js/", "css/", "icons/")


@lru_cache(maxsize=1)
def shell_files() -> tuple[str, ...]:
    """Addresses of every script, style and icon of ours."""
    names = sorted(
        {path for finder in finders.get_finders() for path, _ in finder.list([]) if path.startswith(PARTS)}
    )
    return tuple(static(name) for name in names)


@lru_cache(maxsize=1)
def version() -> str:
    """Changes with every script, style, icon, page template and catalogue of texts."""
    digest = sha256(str(getattr(staticfiles_storage, "manifest_hash", "")).encode())
    folders = [
        settings.BASE_DIR / "templates",
        *(Path(f) for f in settings.STATICFILES_DIRS if isinstance(f, Path)),
    ]
    files = [file for folder in folders for file in folder.rglob("*") if file.is_file()]
    for file in sorted([*files, *settings.BASE_DIR.glob("*/locale/*/LC_MESSAGES/*.mo")]):
        digest.update(f"{file.name} {file.stat().st_size} {file.stat().st_mtime_ns}".encode())
    return digest.hexdigest()[:16]
