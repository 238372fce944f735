"""Rows of every table as JSON lines, the same from each kind of database, and back: never more than some at a time.

A line holds the values as the models have them (times in UTC, ids and sums of money as text), not as a database stores
them, so that what was read from one kind of database can be written to another and read back equal.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, time
from decimal import Decimal
from itertools import islice, zip_longest
from typing import Any
from uuid import UUID

from django.apps import apps
from django.core.management.color import no_style
from django.db import IntegrityError, connections
from django.db.models import CharField, Field, Model
from django.db.models.functions import Collate

from operations.calc.manifest import BackupBrokenError

AT_ONCE = 1000
BY_BYTES = {"sqlite": "BINARY", "postgresql": "C"}  # collations that put text in the same order everywhere
WHOLE_FLOATS_FROM = 1e16  # where Python begins to write them with an exponent, and PostgreSQL's JSON does not
NOT_AS_KEPT = "Row {number} of {table} is not in the database as it is in the backup. Nothing was restored."
POINTS_NOWHERE = "A row of the backup points at one that is not in it: {error}. Take another one."


def stored_models() -> list[type[Model]]:
    """Every model with a table, in the order of the tables' names."""
    found = {model._meta.db_table: model for model in apps.get_models(include_auto_created=True)}
    return [model for _, model in sorted(found.items()) if model._meta.managed]


def columns_of(model: type[Model]) -> list["Field[Any, Any]"]:
    """The columns that are kept: all but those that the database fills by itself."""
    return [field for field in model._meta.local_concrete_fields if not getattr(field, "generated", False)]


def column_names(model: type[Model]) -> tuple[str, ...]:
    """Their names."""
    return tuple(field.attname for field in columns_of(model))


def lines_of(model: type[Model], alias: str) -> Iterator[str]:
    """The rows of a table in the order of their ids, a JSON object each."""
    key, names = model._meta.pk, column_names(model)
    order = Collate("pk", BY_BYTES[connections[alias].vendor]) if isinstance(key, CharField) else "pk"
    rows = model._base_manager.using(alias).order_by(order).values_list(*names)
    for values in rows.iterator(chunk_size=AT_ONCE):
        yield as_line(dict(zip(names, map(plain, values), strict=True)))


def as_line(row: dict[str, Any]) -> str:
    """A row as it stands in a backup. PostgreSQL forgets in which order keys of JSON came; so they are sorted."""
    return json.dumps(row, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))


def plain(value: Any) -> Any:
    """A value as JSON has it."""
    match value:
        case float():
            return _plain_float(value)
        case datetime():
            return value.astimezone(UTC).isoformat()
        case date() | time():
            return value.isoformat()
        case Decimal():
            return format(value, "f")
        case UUID():
            return str(value)
        case dict():
            return {name: plain(one) for name, one in value.items()}
        case list():
            return [plain(one) for one in value]
    return value


def _plain_float(value: float) -> float | int:
    if value.is_integer() and abs(value) >= WHOLE_FLOATS_FROM:
        return int(value)
    return value + 0.0  # minus zero, which not every column can hold, becomes zero


def put_lines(model: type[Model], lines: Iterable[str], alias: str) -> None:
    """Store rows as they were, with their ids and times; nothing else is told or computed."""
    connection, fields = connections[alias], columns_of(model)
    quoted = connection.ops.quote_name
    names = ", ".join(quoted(str(field.column)) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {quoted(model._meta.db_table)} ({names}) VALUES ({marks})"
    with connection.cursor() as cursor:
        rows = (_stored(json.loads(line), fields, connection) for line in lines)
        while some := list(islice(rows, AT_ONCE)):
            cursor.executemany(insert, some)


def _stored(row: dict[str, Any], fields: "Sequence[Field[Any, Any]]", connection: Any) -> list[Any]:
    return [
        field.get_db_prep_save(field.to_python(row[field.attname]), connection=connection) for field in fields
    ]


def refuse_unlike(model: type[Model], lines: Iterable[str], alias: str) -> None:
    """Read a table back beside the lines that were stored. Raises BackupBrokenError for the first that differs."""
    for number, (kept, stored) in enumerate(zip_longest(lines, lines_of(model, alias)), start=1):
        if kept != stored:
            raise BackupBrokenError(NOT_AS_KEPT.format(number=number, table=model._meta.db_table))


def erase_all(alias: str) -> None:
    """Empty every table: what bringing an empty database up to date writes into it stands in the backup, too."""
    with connections[alias].cursor() as cursor:
        for model in stored_models():
            cursor.execute(f"DELETE FROM {connections[alias].ops.quote_name(model._meta.db_table)}")


def settle_keys(alias: str) -> None:
    """Hold every key against the row it leads to, and let new rows be numbered after those that are there."""
    connection = connections[alias]
    try:
        connection.check_constraints()
    except IntegrityError as error:
        raise BackupBrokenError(POINTS_NOWHERE.format(error=str(error).strip())) from error
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), stored_models()):
            cursor.execute(statement)
