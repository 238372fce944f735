"""Handover records on paper, made and read as others do."""

import subprocess

from accounts.calc.audience import Audience
from reporting.presentation.handover import handover_paper, handover_words
from reporting.presentation.pdf import pdf_of
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.photos import thumbnails
from tests.needs import need


def paper_of(surface, units="si", audience=Audience.OWNER):
    """The handover record of a surface as a PDF."""
    snapshot = handover_snapshot(surface, audience)
    words = handover_words(snapshot, units)
    return pdf_of(handover_paper(snapshot, words, thumbnails(words)))


def words_of(pdf, tmp_path):
    """The text of a PDF, by poppler's pdftotext."""
    reader = need("pdftotext", "poppler-utils")
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)
    command = [reader, "-enc", "UTF-8", "-layout", path, "-"]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=True)
    return " ".join(done.stdout.split())
