"""Storing photos and PDFs beside the rows they show something of, and setting them aside."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from django.core.files.base import ContentFile
from django.db import transaction

from accounts.models import User
from accounts.rows import store
from accounts.services.facts import set_fact_aside
from qa.models import Attachment, StoredFile
from qa.models.construction import CheckEntry, CorrectiveWork
from qa.models.rounds import TestRound
from qa.models.surfaces import Surface
from qa.uploads import Sent

S = TypeVar("S", bound=StoredFile)
Showing = CheckEntry | CorrectiveWork | TestRound | Surface
LINKS: dict[type, str] = {
    CheckEntry: "entry",
    CorrectiveWork: "work",
    TestRound: "round",
    Surface: "surface",
}


@transaction.atomic
def attach(*, to: Showing, sent: Sent, by: User) -> list[Attachment]:
    """Store what was sent beside a finding, a corrective work, a test round or a surface."""
    link = LINKS[type(to)]
    return keep_files(lambda: Attachment(**{link: to}), sent=sent, by=by)


@transaction.atomic
def keep_files(new: Callable[[], S], *, sent: Sent, by: User) -> list[S]:
    """Store what was sent, each file in a row that `new` makes with its link set.

    All of them or none: what was written before a refusal is taken away again.
    """
    rows: list[S] = []
    try:
        for number in range(len(sent.files)):
            rows.append(new())
            _keep(rows[-1], sent, number, by)
    except BaseException:
        _take_away(rows)
        raise
    return rows


@transaction.atomic
def set_file_aside(*, row: S, by: User, reason: str) -> S:
    """Keep a file for the firm to look up, but show it no more."""
    return set_fact_aside(fact=row, by=by, reason=reason)


def _keep(row: StoredFile, sent: Sent, number: int, by: User) -> None:
    accepted = sent.files[number]
    row.media_type, row.original_name = accepted.kind.value, accepted.name
    row.size_bytes, row.width_px, row.height_px = len(accepted.content), accepted.width, accepted.height
    row.caption, row.location_kept, row.recorded_by = sent.caption, sent.keep_location, by
    row.content.save("", ContentFile(accepted.content), save=False)
    if accepted.thumbnail:
        row.thumbnail.save("", ContentFile(accepted.thumbnail), save=False)
    store(row)


def _take_away(rows: Sequence[StoredFile]) -> None:
    for row in rows:
        for held in (row.content, row.thumbnail):
            if held:
                held.delete(save=False)
