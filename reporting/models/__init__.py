"""Rows of documents that were kept."""

from reporting.models.snapshots import Snapshot, SnapshotQuerySet

__all__ = ["Snapshot", "SnapshotQuerySet"]
