from exchange.models.exports import DataExport
from exchange.models.imports import ColumnTemplate, DataImport

__all__ = ["ColumnTemplate", "DataExport", "DataImport"]
