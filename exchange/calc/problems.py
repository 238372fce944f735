"""What stands in the way of an import, and what else is worth knowing of it: by sheet, row, column and value."""

from dataclasses import dataclass

MOST_KEPT = 500  # of each; who has more has one mistake many times


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing said of a row. row: as the spreadsheet numbers it; 0 for the sheet as a whole. remedy: what to do."""

    sheet: str
    row: int
    column: str
    value: str
    what: str
    remedy: str = ""
