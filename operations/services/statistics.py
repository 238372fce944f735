"""What the embedded database knows of its own tables, by which it chooses its way through them."""

from django.db import connection

ROWS_LOOKED_AT = 1_000  # of each index: a few milliseconds however large the table is


def renew_statistics() -> None:
    """Count anew. PostgreSQL does this by itself.

    Without them SQLite takes any index that a condition names: one report read every piece of advice of a large firm.
    Source: SQLite, "ANALYZE", approximate ANALYZE for large databases. `PRAGMA optimize` would count only where it is
    worth it, but before SQLite 3.46 it knows no table that its own connection has not read.
    """
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit={ROWS_LOOKED_AT}")
        cursor.execute("ANALYZE")
