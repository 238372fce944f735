"""What PostgreSQL hears from a connection of ours."""

import pytest
from django.db import connection, connections

from config.environment import uncompiled
from tests.databases import as_default

pytestmark = pytest.mark.postgres


@pytest.mark.parametrize(("said", "then"), [("", "off"), ("-c jit=on", "on")])
def test_it_compiles_no_question_unless_the_address_says_so(on_postgres, said, then):
    given = connections.configure_settings(
        {"default": connection.settings_dict | {"OPTIONS": uncompiled({"options": said})}}
    )["default"]
    with as_default(given), connection.cursor() as cursor:
        cursor.execute("SHOW jit")
        assert cursor.fetchone() == (then,)
