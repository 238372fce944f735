"""The embedded database counts its tables, and then takes the shorter way through them."""

import pytest
from django.db import connection

from operations.calc.timetable import TIMETABLE
from operations.services.scheduler import run_task
from qa.models import Surface
from tests.factories import SurfaceFactory

pytestmark = pytest.mark.django_db
EMBEDDED = connection.vendor == "sqlite"
TASK = "operations.tasks.renew_statistics"


def counted():
    """Rows of each table, as far as the database knows them."""
    if not EMBEDDED:
        return {}
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM sqlite_master WHERE name = 'sqlite_stat1'")
        if not cursor.fetchone():
            return {}
        cursor.execute("SELECT tbl, stat FROM sqlite_stat1")
        return {table: int(stat.split()[0]) for table, stat in cursor.fetchall()}


def test_the_clock_has_tables_counted():
    assert [entry.every is not None for entry in TIMETABLE if entry.task == TASK] == [True]


def test_a_table_that_grew_is_counted_where_the_database_does_not_do_so_by_itself():
    SurfaceFactory.create_batch(3)
    before = counted()

    run_task(TASK)

    assert "qa_surface" not in before
    assert counted().get("qa_surface") == (Surface.objects.count() if EMBEDDED else None)


def test_it_runs_on_either_database_and_twice():
    run_task(TASK)
    run_task(TASK)
