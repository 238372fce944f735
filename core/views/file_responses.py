"""Handing out a stored file so that it can do nothing but be looked at or saved."""

from django.http import FileResponse, Http404

from core.calc.file_kinds import MediaType
from core.models.files import StoredFile

# Opened in a page of its own, nothing in the file may run, load or reach the site.
SANDBOX = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; sandbox"


def file_response(row: StoredFile) -> FileResponse:
    """The file itself: a photo to look at, a PDF to save."""
    return _response(row, row.content, row.media_type, saved=not row.is_photo)


def thumbnail_response(row: StoredFile) -> FileResponse:
    """The small picture. Raises Http404 where there is none."""
    if not row.thumbnail:
        raise Http404("This file has no small picture.")
    return _response(row, row.thumbnail, MediaType.JPEG.value, saved=False)


def _response(row: StoredFile, held: object, media_type: str, *, saved: bool) -> FileResponse:
    try:
        opened = held.open("rb")  # type: ignore[attr-defined]
    except FileNotFoundError as error:
        raise Http404("The stored file is missing. Restore the files folder from the backup.") from error
    response = FileResponse(opened, content_type=media_type, as_attachment=saved, filename=row.download_name)
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Content-Security-Policy"] = SANDBOX
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers["Cache-Control"] = "private, max-age=300"
    return response
