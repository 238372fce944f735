"""Reading PDFs as others do."""

import subprocess

from tests.needs import need


def words_of(pdf, tmp_path):
    """The text of a PDF, by poppler's pdftotext."""
    reader = need("pdftotext", "poppler-utils")
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)
    done = subprocess.run([reader, "-layout", path, "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())
