"""Storing photos, videos and PDFs beside the rows they show something of, and setting them aside."""

from collections.abc import Callable, Sequence
from typing import TypeVar
from uuid import uuid5

from django.contrib.auth.base_user import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from core.errors import NoRoomError
from core.models.files import StoredFile
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id, void_record
from core.services.storage import NO_ROOM, is_full
from core.services.uploads import Sent

S = TypeVar("S", bound=StoredFile)


@transaction.atomic
def keep_files(new: Callable[[], S], *, sent: Sent, by: AbstractBaseUser, **within: object) -> list[S]:
    """Store what was sent, each file in a row that `new` makes with its link set.

    All of them or none: what was written before a refusal is taken away again. A repeat with one device id gives the
    first rows; within: the link, so that nobody's guess of an id finds a file that hangs elsewhere.
    """
    if not sent.files:
        return []
    rows = [new() for _ in sent.files]
    for number, row in enumerate(rows):
        row.device_id = uuid5(sent.device_id, str(number)) if sent.device_id else None
    before = _kept_before(rows, within)
    return before or _keep_all(rows, sent, by, within)


def _kept_before(rows: Sequence[S], within: dict[str, object]) -> list[S]:
    found = [find_by_device_id(row, **within) for row in rows]
    return [row for row in found if row is not None]


def _keep_all(rows: list[S], sent: Sent, by: AbstractBaseUser, within: dict[str, object]) -> list[S]:
    try:
        with transaction.atomic():
            for number, row in enumerate(rows):
                _keep(row, sent, number, by)
    except (IntegrityError, ValidationError):
        _take_away(rows)
        before = _kept_before(rows, within)
        if not before:
            raise
        return before
    except BaseException as error:
        _take_away(rows)
        if is_full(error):
            raise NoRoomError(_(NO_ROOM)) from error
        raise
    return rows


@transaction.atomic
def void_file(*, row: S, by: AbstractBaseUser, reason: str) -> S:
    """Keep a file for the firm to look up, but show it no more."""
    return void_record(fact=row, by=by, reason=reason)


def _keep(row: StoredFile, sent: Sent, number: int, by: AbstractBaseUser) -> None:
    accepted = sent.files[number]
    row.media_type, row.original_name = accepted.kind.value, accepted.name
    row.size_bytes, row.width_px, row.height_px = accepted.to_store.size, accepted.width, accepted.height
    row.duration_s = accepted.duration_s
    row.caption, row.location_kept = sent.caption, sent.keep_location
    row.recorded_by = by  # type: ignore[assignment]  # core knows people only as whoever signs in
    row.content.save("", accepted.to_store, save=False)
    if accepted.thumbnail:
        row.thumbnail.save("", ContentFile(accepted.thumbnail), save=False)
    validate_and_save(row)


def _take_away(rows: Sequence[StoredFile]) -> None:
    for row in rows:
        for held in (row.content, row.thumbnail):
            if held:
                held.delete(save=False)
