"""Handing out a stored file so that it can do nothing but be looked at or saved."""

import re
from collections.abc import Iterator

from django.core.files.base import File
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils.http import content_disposition_header

from core.calc.file_kinds import MediaType
from core.models.files import StoredFile

# Opened in a page of its own, nothing in the file may run, load or reach the site.
SANDBOX = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; sandbox"
# A player's page loads its video from the site once more, which a sandbox, being of no site, would not be given.
PLAYER = "default-src 'none'; style-src 'unsafe-inline'; media-src 'self'"
AT_ONCE = 256 * 1024
PARTIAL, NOT_THERE = 206, 416
_ONE_RANGE = re.compile(r"bytes=(\d{0,15})-(\d{0,15})")


def file_response(row: StoredFile, request: HttpRequest) -> HttpResponseBase:
    """The file itself: a photo to look at, a video to play from where the player asks, a PDF to save."""
    if row.is_video:
        return _safe(_played(row, request), PLAYER)
    return _response(row, row.content, row.media_type, saved=not row.is_photo)


def thumbnail_response(row: StoredFile) -> HttpResponseBase:
    """The small picture. Raises Http404 where there is none."""
    if not row.thumbnail:
        raise Http404("This file has no small picture.")
    return _response(row, row.thumbnail, MediaType.JPEG.value, saved=False)


def _response(row: StoredFile, held: object, media_type: str, *, saved: bool) -> HttpResponseBase:
    opened = _opened(held)
    return _safe(
        FileResponse(opened, content_type=media_type, as_attachment=saved, filename=row.download_name)
    )


def _opened(held: object) -> File[bytes]:
    try:
        opened: File[bytes] = held.open("rb")  # type: ignore[attr-defined]
    except FileNotFoundError as error:
        raise Http404("The stored file is missing. Restore the files folder from the backup.") from error
    return opened


def _safe(response: HttpResponseBase, policy: str = SANDBOX) -> HttpResponseBase:
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Content-Security-Policy"] = policy
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers["Cache-Control"] = "private, max-age=300"
    return response


# ---- Videos: players ask for pieces, and a telephone plays none that it cannot ask for so ---------


def _played(row: StoredFile, request: HttpRequest) -> HttpResponseBase:
    """All of it, or the one piece that is asked for (RFC 9110, 14)."""
    mark = f'"{row.pk.hex}"'
    asked = request.headers.get("Range", "")
    if request.headers.get("If-Range", mark) != mark:
        asked = ""
    opened = _opened(row.content)
    size = opened.size
    piece = _piece(asked, size)
    if piece is not None and piece[0] >= size:
        opened.close()
        return HttpResponse(status=NOT_THERE, headers={"Content-Range": f"bytes */{size}"})
    first, last = piece or (0, size - 1)
    response = StreamingHttpResponse(_read(opened, first, last), content_type=row.media_type)
    response.headers["Accept-Ranges"], response.headers["ETag"] = "bytes", mark
    response.headers["Content-Length"] = str(last - first + 1)
    response.headers["Content-Disposition"] = content_disposition_header(False, row.download_name) or "inline"
    if piece is not None:
        response.status_code = PARTIAL
        response.headers["Content-Range"] = f"bytes {first}-{last}/{size}"
    return response


def _piece(asked: str, size: int) -> tuple[int, int] | None:
    """First and last byte; None where all is sent: nothing asked, several pieces, or what cannot be read."""
    match = _ONE_RANGE.fullmatch(asked.strip())
    if match is None:
        return None
    first, last = match.groups()
    if not first:
        return (max(size - int(last), 0) if int(last) else size, size - 1) if last else None
    end = min(int(last), size - 1) if last else size - 1
    return None if last and int(last) < int(first) else (int(first), end)


def _read(opened: File[bytes], first: int, last: int) -> Iterator[bytes]:
    with opened:
        opened.seek(first)
        left = last - first + 1
        while left > 0 and (read := opened.read(min(left, AT_ONCE))):
            left -= len(read)
            yield read
