"""What the embedded database knows of its own tables, by which it chooses its way through them."""

from django.db import connection

ROWS_LOOKED_AT = 1_000  # of each index: a few milliseconds however large the table is
EVERY_TABLE = 0x10002  # also those that this connection never read; as SQLite advises after schema changes


def renew_statistics() -> None:
    """Count anew where a table grew or shrank by much. PostgreSQL does this by itself.

    Without them SQLite takes any index that a condition names: one report read every piece of advice of a large firm.
    Source: SQLite, "PRAGMA optimize" and "ANALYZE", recommended usage.
    """
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit={ROWS_LOOKED_AT}")
        cursor.execute(f"PRAGMA optimize({EVERY_TABLE})")
