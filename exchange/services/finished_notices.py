"""Telling whoever asked for it that an import is stored, or an archive is made."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from exchange.models import DataExport, DataImport, Restoration


def language_of(row: DataImport | DataExport | Restoration) -> str:
    """The language of whoever asked for it; the firm's where they chose none."""
    return row.organisation.language_of(row.made_by)


def tell_imported(*, data_import: DataImport) -> None:
    """In the transaction that stores what the sheets hold."""
    _tell(data_import, lambda: _("What {files} holds is stored.").format(files=data_import.names))


def tell_exported(*, export: DataExport) -> None:
    """In the transaction that keeps the archive."""
    firm = export.organisation
    _tell(export, lambda: _("The archive of everything of {firm} is made.").format(firm=firm))


def _tell(row: DataImport | DataExport, text: Callable[[], str]) -> None:
    news = News(NoticeKind.FINISHED, row.organisation, row, text, row.get_absolute_url())
    tell_firm(news=news, to=[row.made_by_id])
