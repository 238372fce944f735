"""Rows of documents that were kept, shared and sent, of sources that a firm has verified, and of what is written about
surfaces.
"""

from reporting.models.links import LinkOpening, SharedLink, SharedSite
from reporting.models.messages import MessageMail, ThreadMessage
from reporting.models.sendings import DueReport, ReportRoutine, Sending
from reporting.models.snapshots import Snapshot, SnapshotQuerySet
from reporting.models.sources import VerifiedSource

__all__ = [
    "DueReport",
    "LinkOpening",
    "MessageMail",
    "ReportRoutine",
    "Sending",
    "SharedLink",
    "SharedSite",
    "Snapshot",
    "SnapshotQuerySet",
    "ThreadMessage",
    "VerifiedSource",
]
