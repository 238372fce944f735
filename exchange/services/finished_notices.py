"""Telling whoever asked for it that an import is stored, or an archive is made."""

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from exchange.models import DataExport, DataImport


def tell_imported(*, data_import: DataImport) -> None:
    """In the transaction that stores what the sheets hold."""
    _tell(data_import, f"What {data_import.names} holds is stored.")


def tell_exported(*, export: DataExport) -> None:
    """In the transaction that keeps the archive."""
    _tell(export, f"The archive of everything of {export.organisation} is made.")


def _tell(row: DataImport | DataExport, text: str) -> None:
    news = News(NoticeKind.FINISHED, row.organisation, row, text, row.get_absolute_url())
    tell_firm(news=news, to=[row.made_by_id])
