"""Documents that were kept: which there are, and what they said."""

from accounts.models import User
from qa.models import Site, Surface
from reporting.calc.schemas import TYPES, Kept
from reporting.calc.snapshots import SnapshotKind
from reporting.models import Snapshot, SnapshotQuerySet


def thaw(row: Snapshot) -> Kept:
    """What the document said when it was kept. Raises UnreadablePayloadError for one of a newer edition."""
    return TYPES[SnapshotKind(row.kind)].from_json(row.payload)


def kept_documents(user: User) -> SnapshotQuerySet:
    """The kept documents that a person may open, without what they say, the newest first."""
    return Snapshot.objects.for_user(user).defer("payload").select_related("recorded_by")


def kept_reports(user: User, site: Site) -> SnapshotQuerySet:
    """The kept reports of a site."""
    return kept_documents(user).filter(site=site, kind=SnapshotKind.REPORT)


def kept_handovers(user: User, surface: Surface) -> SnapshotQuerySet:
    """The kept handover records of a surface."""
    return kept_documents(user).filter(surface=surface, kind=SnapshotKind.HANDOVER)
