"""Tells whoever computes from a surface's record that the record has changed."""

from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.dispatch import Signal

from qa.models import Surface

# The layer above listens; this layer cannot import it. The rise of `record_version`, stored with the
# change itself, is what counts. The signal is only a nudge, and a lost one is found by a sweep.
record_changed = Signal()


def bump_record_version(surface_id: UUID) -> None:
    """Mark the surface's forecast stale, and say so after the commit. Call inside the transaction."""
    Surface.objects.filter(pk=surface_id).update(record_version=F("record_version") + 1)
    transaction.on_commit(lambda: _announce(surface_id), robust=True)


def _announce(surface_id: UUID) -> None:
    record_changed.send(sender=Surface, surface_id=surface_id)
