"""Photos and PDFs on pages."""

from collections.abc import Iterable

from core.models.files import StoredFile


def seen_by_firm(files: Iterable[StoredFile], own_firm: bool) -> list[StoredFile]:
    """The files that somebody may see: what was set aside is for the people of the firm."""
    return [file for file in files if file.is_active or own_firm]
