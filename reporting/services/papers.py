"""The paper of a document, with what may still be shown of its photos."""

from reporting.calc.handover import HandoverSnapshot
from reporting.calc.schemas import Kept
from reporting.calc.snapshots import ReportSnapshot
from reporting.presentation.handover import handover_paper, handover_words
from reporting.presentation.pdf import Paper
from reporting.presentation.report import report_paper, report_words
from reporting.selectors.photos import mark_set_aside, thumbnails


def paper_of(snapshot: Kept, units: str) -> Paper:
    """The document as a paper in these units."""
    if isinstance(snapshot, HandoverSnapshot):
        return handover_paper_of(snapshot, units)
    return report_paper_of(snapshot, units)


def handover_paper_of(snapshot: HandoverSnapshot, units: str) -> Paper:
    """A handover record as a paper."""
    words = mark_set_aside(handover_words(snapshot, units))
    return handover_paper(snapshot, words, thumbnails(words))


def report_paper_of(snapshot: ReportSnapshot, units: str) -> Paper:
    """A report as a paper."""
    words = mark_set_aside(report_words(snapshot, units))
    return report_paper(snapshot, words, thumbnails(words))
