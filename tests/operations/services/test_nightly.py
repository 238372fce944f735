"""The backup of each night: made where it is wanted, thinned only after a good one, missed in words."""

from datetime import UTC, datetime, timedelta

import pytest

from accounts.models import Notice
from core.errors import NotAllowedNowError
from operations import tasks
from operations.calc.signs import BACKUP_MISSING_AFTER, SignOf
from operations.models import Sign
from operations.services import nightly

AT = datetime(2026, 6, 10, 1, 30, tzinfo=UTC)
DAY = timedelta(days=1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path, settings):
    settings.BACKUP_DIR = str(tmp_path / "backups")
    return tmp_path / "backups"


@pytest.fixture
def makes(monkeypatch):
    """Stands for the making, which has tests of its own; says how often it was asked."""
    asked = []

    def make(target):
        asked.append(target)
        target.write_bytes(b"whole")

    monkeypatch.setattr(nightly, "make_backup", make)
    return asked


@pytest.fixture
def fails(monkeypatch):
    def refuse(target):
        raise NotAllowedNowError("The database is not of this edition.")

    monkeypatch.setattr(nightly, "make_backup", refuse)


def fill(folder, count):
    folder.mkdir()
    for back in range(1, count + 1):
        (folder / f"rainthrough-{(AT - back * DAY).date()}.tar").write_bytes(b"older")
    return {path.name for path in folder.iterdir()}


def test_without_a_folder_none_is_made(makes, settings):
    settings.BACKUP_DIR = ""

    assert nightly.back_up_nightly(AT) is None
    assert makes == []


def test_a_day_gets_one_however_often_the_clock_asks(folder, makes):
    made = nightly.back_up_nightly(AT)

    assert nightly.back_up_nightly(AT + timedelta(hours=20)) is None
    assert nightly.back_up_nightly(AT + DAY).name == "rainthrough-2026-06-11.tar"
    assert made.name == "rainthrough-2026-06-10.tar"
    assert len(makes) == 2
    assert folder.stat().st_mode & 0o077 == 0


def test_older_ones_are_thinned_and_strange_files_stay(folder, makes):
    before = fill(folder, 60)
    (folder / "rainthrough-2020-01-01.tar.old").write_bytes(b"somebody's")
    (folder / "notes.txt").write_bytes(b"somebody's")

    nightly.back_up_nightly(AT)

    left = {path.name for path in folder.iterdir()}
    assert {"rainthrough-2020-01-01.tar.old", "notes.txt", "rainthrough-2026-06-10.tar"} <= left
    assert "rainthrough-2026-06-04.tar" in left
    assert len(left & before) < 15


def test_where_it_fails_nothing_is_erased_and_admins_are_told_once(folder, fails, firm):
    before = fill(folder, 60)

    for hour in range(3):
        with pytest.raises(NotAllowedNowError):
            nightly.back_up_nightly(AT + timedelta(hours=hour))

    assert {path.name for path in folder.iterdir()} == before
    told = Notice.objects.filter(organisation=firm.organisation)
    assert [notice.user for notice in told] == [firm.admin]
    assert "backup of the night was not made" in told.get().text


def test_a_full_disk_is_told_too(folder, firm, monkeypatch):
    def full(target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(nightly, "make_backup", full)

    with pytest.raises(OSError, match="No space"):
        nightly.back_up_nightly(AT)

    assert Notice.objects.filter(user=firm.admin).count() == 1


def test_where_it_succeeds_nobody_is_told(folder, makes, firm):
    nightly.back_up_nightly(AT)

    assert not Notice.objects.exists()


@pytest.mark.parametrize(
    ("ago", "told"),
    [(None, False), (BACKUP_MISSING_AFTER, False), (BACKUP_MISSING_AFTER + timedelta(minutes=1), True)],
)
def test_a_backup_that_never_came_is_told_by_its_absence(folder, firm, ago, told):
    if ago is not None:
        Sign.objects.create(of=SignOf.BACKUP, seen_at=AT - ago)

    assert nightly.tell_if_missing(AT) is told
    assert nightly.tell_if_missing(AT + timedelta(hours=1)) is (ago is not None)
    assert Notice.objects.filter(user=firm.admin).count() == (ago is not None)


def test_where_none_is_wanted_none_is_missed(firm, settings):
    settings.BACKUP_DIR = ""
    Sign.objects.create(of=SignOf.BACKUP, seen_at=AT - 100 * DAY)

    assert nightly.tell_if_missing(AT) is False


def test_the_clock_asks_for_both(folder, makes):
    tasks.back_up()

    assert len(makes) == 1
    assert tasks.tell_missing_backup() is False
