"""What tells a proxy whether a server can be asked."""

import pytest
from django.db import OperationalError
from django.db.migrations.recorder import MigrationRecorder

pytestmark = pytest.mark.django_db


def test_a_server_that_can_serve_says_so(client, settings):
    settings.SECURE_SSL_REDIRECT = True  # whoever asks may stand on the same machine, without https

    answer = client.get("/health/")

    assert (answer.status_code, answer.content) == (200, b"ok\n")


def test_a_database_of_an_older_edition_is_told(client):
    MigrationRecorder.Migration.objects.filter(app="planning").delete()

    answer = client.get("/health/")

    assert answer.status_code == 503
    assert b"not brought up to date" in answer.content


def test_a_database_that_does_not_answer_is_told(client, monkeypatch):
    def away(*args):
        raise OperationalError("connection refused")

    monkeypatch.setattr("core.views.health.MigrationExecutor", away)

    assert client.get("/health/").status_code == 503
