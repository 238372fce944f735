"""Rows of documents that were kept, of sources that a firm has verified, and of what is written about surfaces."""

from reporting.models.messages import MessageMail, ThreadMessage
from reporting.models.snapshots import Snapshot, SnapshotQuerySet
from reporting.models.sources import VerifiedSource

__all__ = ["MessageMail", "Snapshot", "SnapshotQuerySet", "ThreadMessage", "VerifiedSource"]
