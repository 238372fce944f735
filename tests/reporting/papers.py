"""Papers, made and read as others do."""

import subprocess

from accounts.calc.audience import Audience
from reporting.presentation.certificate import certificate_paper, certificate_words
from reporting.presentation.handover import handover_paper, handover_words
from reporting.presentation.pdf import pdf_of
from reporting.presentation.quotes import quote_paper, quote_words
from reporting.presentation.report import report_paper, report_words
from reporting.selectors.certificates import certificate_snapshot
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.photos import thumbnails
from reporting.selectors.quotes import quote_snapshot
from tests.clock import TODAY
from tests.needs import need


def paper_of(surface, units="si", audience=Audience.OWNER):
    """The handover record of a surface as a PDF."""
    snapshot = handover_snapshot(surface, audience)
    words = handover_words(snapshot, units)
    return pdf_of(handover_paper(snapshot, words, thumbnails(words)))


def report_of(snapshot, units="si"):
    """The report of a site as a PDF."""
    words = report_words(snapshot, units)
    return pdf_of(report_paper(snapshot, words, {}))


def certificate_of(round_, units="si", audience=Audience.OWNER):
    """The certificate of a round as a PDF."""
    snapshot = certificate_snapshot(round_, audience)
    return pdf_of(certificate_paper(snapshot, certificate_words(snapshot, units)))


def quote_of(version, units="si", audience=Audience.OWNER, today=TODAY):
    """A version of a quote as a PDF."""
    snapshot = quote_snapshot(version, audience, today)
    return pdf_of(quote_paper(snapshot, quote_words(snapshot, units)))


def words_of(pdf, tmp_path):
    """The text of a PDF, by poppler's pdftotext."""
    reader = need("pdftotext", "poppler-utils")
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)
    command = [reader, "-enc", "UTF-8", "-layout", path, "-"]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=True)
    return " ".join(done.stdout.split())


def facts_of(pdf, tmp_path):
    """What poppler's pdfinfo says of a PDF, by name."""
    reader = need("pdfinfo", "poppler-utils")
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)
    done = subprocess.run([reader, "-enc", "UTF-8", path], capture_output=True, encoding="utf-8", check=True)
    return {
        name: value.strip() for name, _, value in (line.partition(":") for line in done.stdout.splitlines())
    }
