"""What a server says of itself to a proxy, a service manager or a person."""

from collections import namedtuple
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.timezone import now

from operations.calc.signs import BACKUP_MISSING_AFTER, CLOCK_SILENT_AFTER, SignOf
from operations.models import Sign
from operations.services import signs

pytestmark = pytest.mark.django_db
DISK = "operations.selectors.state.shutil.disk_usage"
Usage = namedtuple("Usage", "free")


@pytest.fixture(autouse=True)
def disk(monkeypatch):
    """Room enough, whatever machine the tests run on."""
    monkeypatch.setattr(DISK, lambda folder: Usage(10**12))


@pytest.fixture
def clock():
    signs.note(SignOf.CLOCK)


def lines(answer):
    return answer.content.decode().splitlines()


@pytest.mark.parametrize("address", ["/health/", "/ready/"])
def test_a_server_that_can_serve_says_so(client, settings, clock, address):
    settings.SECURE_SSL_REDIRECT = True  # whoever asks may stand on the same machine, without https

    answer = client.get(address)

    assert answer.status_code == 200
    assert lines(answer)[0] == "ok"
    assert [line.split(":")[0] for line in lines(answer)[1:]] == ["ok database", "ok clock", "ok disk"]
    assert answer["Content-Type"].startswith("text/plain")


class Behind(MigrationExecutor):
    """As one is that finds something to be done yet."""

    def migration_plan(self, targets):
        return [("planning.0002", False)]


def test_a_database_of_an_older_edition_is_told(client, monkeypatch):
    monkeypatch.setattr("operations.selectors.state.MigrationExecutor", Behind)

    answer = client.get("/ready/")

    assert answer.status_code == 503
    assert lines(answer)[:2] == ["not ready", "!! database: The database is not brought up to date."]


def test_a_database_that_does_not_answer_is_told_without_its_words(client, monkeypatch):
    def away(*args):
        raise OperationalError("connection to db.internal refused for user rainthrough")

    monkeypatch.setattr("operations.selectors.state.MigrationExecutor", away)

    answer = client.get("/ready/")

    assert answer.status_code == 503
    assert "!! database: The database does not answer." in lines(answer)
    assert "db.internal" not in answer.content.decode()
    assert "clock" not in answer.content.decode(), "its sign lies in the database"


@pytest.mark.parametrize(
    ("ago", "line"),
    [
        (timedelta(hours=20), "ok backup: The last night's was made."),
        (BACKUP_MISSING_AFTER * 1.01, "!! backup: The last night's is missing."),
        (None, "!! backup: The last night's is missing."),
    ],
)
def test_a_missing_backup_is_marked_where_one_is_wanted_and_turns_nobody_away(
    client, settings, clock, ago, line
):
    settings.BACKUP_DIR = "/backups"
    if ago is not None:
        Sign.objects.create(of=SignOf.BACKUP, seen_at=now() - ago)

    answer = client.get("/ready/")

    assert answer.status_code == 200
    assert line in lines(answer)


def test_whether_the_process_answers_asks_nothing_of_the_database(client, monkeypatch, settings):
    settings.SECURE_SSL_REDIRECT = True

    def refuse():
        raise AssertionError("the database was asked")

    monkeypatch.setattr(connection, "ensure_connection", refuse)
    monkeypatch.setattr(connection, "cursor", refuse)

    answer = client.get("/live/")

    assert (answer.status_code, answer.content) == (200, b"ok\n")


def test_a_silent_clock_is_told_and_turns_no_server_away(client):
    Sign.objects.create(of=SignOf.CLOCK, seen_at=now() - CLOCK_SILENT_AFTER - timedelta(seconds=1))

    answer = client.get("/ready/")

    assert answer.status_code == 200
    assert lines(answer)[0] == "ok, but look at what is marked"
    assert any(line.startswith("!! clock: No sign of life") for line in lines(answer))


def test_a_clock_never_heard_of_is_silent(client):
    assert "!! clock" in client.get("/ready/").content.decode()


def test_a_full_disk_is_told_at_the_floor_of_the_settings(client, clock, monkeypatch, settings):
    settings.DISK_FLOOR_MB = 300
    monkeypatch.setattr(DISK, lambda folder: Usage(300_000_000))
    enough = client.get("/ready/").status_code
    monkeypatch.setattr(DISK, lambda folder: Usage(299_999_999))

    answer = client.get("/ready/")

    assert (enough, answer.status_code) == (200, 503)
    assert "!! disk: There is too little room left on the disk." in lines(answer)
    assert "299" not in answer.content.decode(), "a stranger learns no sizes"


def test_redis_that_is_away_is_told_and_turns_no_server_away(client, clock, settings):
    settings.REDIS_URL = "redis://127.0.0.1:1/0"  # nothing listens on that port

    answer = client.get("/ready/")

    assert answer.status_code == 200
    assert any(line.startswith("!! redis: It does not answer") for line in lines(answer))


def test_redis_is_left_out_where_there_is_none(client, clock):
    assert "redis" not in client.get("/ready/").content.decode()


@pytest.mark.parametrize("address", ["/live/", "/ready/", "/health/"])
def test_it_is_read_only(client, address):
    assert client.post(address).status_code == 405
    assert client.head(address).status_code == 200
