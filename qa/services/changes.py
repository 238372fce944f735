"""Tells whoever computes from a surface's record that the record has changed."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.dispatch import Signal

from qa.models import Surface

# The layer above listens; this layer cannot import it. The rise of `record_version`, stored with the
# change itself, is what counts. The signal is only a nudge, and a lost one is found by a sweep.
record_changed = Signal()
_left_to_the_sweep: ContextVar[bool] = ContextVar("left to the sweep", default=False)


def bump_record_version(surface_id: UUID) -> None:
    """Mark the surface's forecast stale, and say so after the commit. Call inside the transaction."""
    Surface.objects.filter(pk=surface_id).update(record_version=F("record_version") + 1)
    if not _left_to_the_sweep.get():
        transaction.on_commit(lambda: _announce(surface_id), robust=True)


@contextmanager
def left_to_the_sweep() -> Iterator[None]:
    """Announce no change made meanwhile: of many at once the sweep finds each surface once, instead of each change."""
    token = _left_to_the_sweep.set(True)
    try:
        yield
    finally:
        _left_to_the_sweep.reset(token)


def _announce(surface_id: UUID) -> None:
    record_changed.send(sender=Surface, surface_id=surface_id)
