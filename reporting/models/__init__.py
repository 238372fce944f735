"""Rows of documents that were kept, shared and sent, and of sources that a firm has verified."""

from reporting.models.links import LinkOpening, SharedLink, SharedSite
from reporting.models.sendings import DueReport, ReportRoutine, Sending
from reporting.models.snapshots import Snapshot, SnapshotQuerySet
from reporting.models.sources import VerifiedSource

__all__ = [
    "DueReport",
    "LinkOpening",
    "ReportRoutine",
    "Sending",
    "SharedLink",
    "SharedSite",
    "Snapshot",
    "SnapshotQuerySet",
    "VerifiedSource",
]
