"""Archives to take away: asked for, made, kept some days, taken away with their files."""

import zipfile
from datetime import timedelta
from io import BytesIO

import pytest
from django.utils.timezone import now

from accounts.models import Notice
from core.errors import ClaimLostError
from core.services import jobs
from core.services.jobs import Outcome
from exchange.models import DataExport
from exchange.services import exports
from tests.factories import OwnerFactory

LABEL = "exchange.DataExport"


@pytest.fixture
def export(firm):
    return exports.ask_for_export(organisation=firm.organisation, by=firm.admin)


@pytest.fixture
def made(export):
    assert jobs.run(LABEL, export.pk) is Outcome.DONE
    export.refresh_from_db()
    return export


def kept(export):
    return export.content.storage.exists(export.content.name)


def age(export, **ago):
    DataExport.objects.filter(pk=export.pk).update(created_at=now() - timedelta(**ago))


def test_an_archive_is_made_and_says_how_large_it_is(firm, made):
    with made.content.open("rb") as opened:
        content = opened.read()

    assert (made.state, made.error, made.made_by) == ("done", "", firm.admin)
    assert Notice.objects.get(about_id=made.pk).user == firm.admin
    assert made.size_bytes == len(content)
    with zipfile.ZipFile(BytesIO(content)) as archive:
        assert archive.testzip() is None
        lines = sum(
            archive.read(name).decode().count("\r\n") - 1
            for name in archive.namelist()
            if name.endswith(".csv")
        )
    assert made.rows == lines  # no cell of this firm has a line of its own within


def test_asked_for_twice_while_one_is_made_it_is_one(firm, export):
    again = exports.ask_for_export(organisation=firm.organisation, by=firm.coordinator)

    assert again == export
    assert DataExport.objects.get().made_by == firm.admin


def test_once_it_is_made_another_can_be_asked_for(firm, made):
    assert exports.ask_for_export(organisation=firm.organisation, by=firm.admin) != made


def test_that_another_firm_has_one_made_holds_nobody_up(firm, export):
    other = firm.outsider.memberships.get().organisation

    theirs = exports.ask_for_export(organisation=other, by=firm.outsider)

    assert theirs != export
    assert DataExport.objects.count() == 2


def test_an_archive_holds_nothing_of_another_firm(firm, made):
    theirs = OwnerFactory(name="Somebody of elsewhere")
    with made.content.open("rb") as opened, zipfile.ZipFile(opened) as archive:
        owners = archive.read("csv/owner.csv").decode()

    assert firm.owner.name in owners
    assert theirs.name not in owners


def test_what_is_taken_away_takes_its_file_with_it(made, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        exports.remove_export(export=made)

    assert not DataExport.objects.exists()
    assert not kept(made)


def test_the_file_stays_until_the_row_is_surely_gone(made):
    exports.remove_export(export=made)  # within the test's transaction, which is undone

    assert kept(made)


def test_one_that_was_never_made_is_taken_away_too(export, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True) as called:
        exports.remove_export(export=export)

    assert called == []
    assert jobs.run(LABEL, export.pk) is Outcome.GONE


def test_one_that_is_taken_away_while_it_is_made_leaves_no_file(firm, export, monkeypatch):
    written, seen = exports.write_archive, []

    def meanwhile(**given):
        seen.append(DataExport.objects.get(pk=export.pk))
        exports.remove_export(export=DataExport.objects.get(pk=export.pk))
        return written(**given)

    monkeypatch.setattr(exports, "write_archive", meanwhile)

    with pytest.raises(ClaimLostError):
        exports.make_export(export, jobs.take(DataExport.objects.get(pk=export.pk)))
    assert seen
    assert not DataExport.objects.exists()


def test_whoever_lost_the_hold_leaves_no_file_behind(firm, export, monkeypatch):
    """Somebody asked for it anew while the archive was stored: what was stored is taken away again."""
    claim = jobs.take(export)
    stored = []

    def lost(**columns):
        stored.append((export.content.storage, columns["content"]))
        raise ClaimLostError("It is held by somebody else.")

    monkeypatch.setattr(claim, "finish", lost)

    with pytest.raises(ClaimLostError):
        exports.make_export(export, claim)

    ((storage, name),) = stored
    assert name
    assert not storage.exists(name)


def test_work_that_fails_is_told_and_tried_again(export, monkeypatch):
    def fails(**_):
        raise OSError("The disk is gone.")

    monkeypatch.setattr(exports, "write_archive", fails)

    with pytest.raises(OSError, match="disk"):
        jobs.run(LABEL, export.pk)
    export.refresh_from_db()
    assert (export.state, export.content.name) == ("waiting", "")


@pytest.mark.parametrize(
    ("ago", "stays"),
    [
        ({"days": 6, "hours": 23, "minutes": 59}, True),
        ({"days": 7, "minutes": 1}, False),
        ({"days": 400}, False),
    ],
    ids=["a minute before", "a minute after", "long ago"],
)
def test_archives_are_kept_for_seven_days(made, ago, stays, django_capture_on_commit_callbacks):
    age(made, **ago)

    with django_capture_on_commit_callbacks(execute=True):
        exports.remove_old()

    assert DataExport.objects.exists() is stays
    assert kept(made) is stays


def test_the_sweep_takes_old_archives_away_before_it_looks_for_work(export, monkeypatch):
    monkeypatch.setattr(jobs, "_deliver", [lambda label, pk: pytest.fail(f"{label} is delivered")])
    monkeypatch.setattr(jobs, "_KINDS", {LABEL: jobs.kind_of(LABEL)})
    age(export, days=8)

    assert jobs.sweep() == 0
    assert not DataExport.objects.exists()
