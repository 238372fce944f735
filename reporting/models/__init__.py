"""Rows of documents that were kept, and of sources that a firm has verified."""

from reporting.models.snapshots import Snapshot, SnapshotQuerySet
from reporting.models.sources import VerifiedSource

__all__ = ["Snapshot", "SnapshotQuerySet", "VerifiedSource"]
