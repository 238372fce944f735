"""The paper of a document, with what may still be shown of its photos."""

from reporting.calc.handover import HandoverSnapshot
from reporting.calc.schemas import Kept
from reporting.calc.snapshots import SnapshotKind
from reporting.models import Snapshot
from reporting.presentation.handover import handover_paper, handover_words
from reporting.presentation.pdf import Paper
from reporting.selectors.photos import mark_set_aside, thumbnails

REPORTS_HAVE_PAPERS = False


def has_paper(document: Snapshot) -> bool:
    """Whether the document can be made as a PDF, told from its kind."""
    return document.kind == SnapshotKind.HANDOVER or REPORTS_HAVE_PAPERS


def paper_of(snapshot: Kept, units: str) -> Paper | None:
    """The document as a paper in these units; None for a kind that is made as a page alone."""
    if isinstance(snapshot, HandoverSnapshot):
        return handover_paper_of(snapshot, units)
    return None


def handover_paper_of(snapshot: HandoverSnapshot, units: str) -> Paper:
    """A handover record as a paper."""
    words = mark_set_aside(handover_words(snapshot, units))
    return handover_paper(snapshot, words, thumbnails(words))
