from exchange.models.exports import DataExport, Restoration
from exchange.models.imports import ColumnTemplate, DataImport

__all__ = ["ColumnTemplate", "DataExport", "DataImport", "Restoration"]
