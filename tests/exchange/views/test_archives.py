"""Everything taken away and brought back, by the pages of it."""

import zipfile
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from accounts.models import Owner
from core.services import jobs
from exchange.models import DataExport, Restoration
from exchange.selectors.tables import NOT_EXPORTED, left_out
from exchange.services.exports import ask_for_export
from tests.exchange.archives import archive_of, empty_firm
from tests.sending import as_shown, confirm

LIST, NEW, RESTORE = (
    reverse(f"exchange:{name}") for name in ("export-list", "export-create", "restore-create")
)


@pytest.fixture
def admin(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    return client


@pytest.fixture
def export(firm):
    return ask_for_export(organisation=firm.organisation, by=firm.admin)


@pytest.fixture
def made(export):
    jobs.run("exchange.DataExport", export.pk)
    export.refresh_from_db()
    return export


def of(route, export):
    return reverse(f"exchange:export-{route}", args=[export.pk])


def words(client, url):
    return " ".join(client.get(url).content.decode().split())


def test_a_firm_without_an_archive_is_told_how_to_have_one_and_what_is_not_in_it(admin):
    page = words(admin, LIST)

    assert "Make an archive" in page
    assert "<h2>Archives</h2>" not in page
    for name, why in left_out():
        assert name.replace("'", "&#x27;") in page
        assert why.replace("'", "&#x27;") in page
    assert len(left_out()) > len(NOT_EXPORTED)


def test_an_archive_is_asked_for_once_however_often_the_button_is_pressed(admin, firm):
    answers = [admin.post(NEW) for _ in range(2)]

    assert {answer.headers["Location"] for answer in answers} == {LIST}
    (export,) = DataExport.objects.all()
    assert (export.organisation, export.made_by) == (firm.organisation, firm.admin)
    assert "The archive is being made" in words(admin, LIST)


def test_how_far_it_is_is_told_until_it_is_there(admin, export):
    assert "data-unfinished" in words(admin, of("progress", export))

    jobs.run("exchange.DataExport", export.pk)

    page = words(admin, of("progress", export))
    assert "data-unfinished" not in page
    assert of("download", export) in page
    assert "rows, made for" in page


def test_a_failure_is_told_in_its_words(admin, export):
    DataExport.objects.update(state="failed", error="The disk is full.")

    page = words(admin, of("progress", export))

    assert "The disk is full." in page
    assert of("download", export) not in page


def test_it_is_downloaded_as_it_was_made_under_its_day(admin, made):
    answer = admin.get(of("download", made))
    content = b"".join(answer.streaming_content)

    assert answer.headers["Content-Type"] == "application/zip"
    assert f'filename="rainthrough-{made.created_at:%Y-%m-%d}.zip"' in answer.headers["Content-Disposition"]
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert len(content) == made.size_bytes
    assert zipfile.ZipFile(BytesIO(content)).testzip() is None


def test_one_that_is_not_there_yet_cannot_be_downloaded(admin, export):
    assert admin.get(of("download", export)).status_code == 404


def test_one_whose_file_is_gone_is_told_as_that_and_not_as_a_fault(admin, made):
    made.content.storage.delete(made.content.name)

    assert admin.get(of("download", made)).status_code == 404


def test_it_is_removed_with_its_file(admin, made, django_capture_on_commit_callbacks):
    storage, name = made.content.storage, made.content.name

    with django_capture_on_commit_callbacks(execute=True):
        answer = admin.post(of("remove", made), follow=True)

    assert "The archive is gone." in answer.content.decode()
    assert not DataExport.objects.exists()
    assert not storage.exists(name)


@pytest.mark.parametrize("who", ["viewer", "technician", "coordinator"])
def test_whoever_is_no_admin_neither_sees_nor_makes_nor_takes_one(client, firm, made, who):
    client.force_login(getattr(firm, who))
    confirm(client)

    statuses = [
        client.get(LIST).status_code,
        client.post(NEW).status_code,
        client.get(of("download", made)).status_code,
        client.get(of("progress", made)).status_code,
        client.post(of("remove", made)).status_code,
        client.get(RESTORE).status_code,
    ]

    assert statuses == [403] * 6
    assert DataExport.objects.get() == made


def test_an_admin_of_another_firm_finds_none_of_it(client, firm, made):
    client.force_login(firm.outsider)
    confirm(client)

    assert of("download", made) not in words(client, LIST)
    assert client.get(of("download", made)).status_code == 404
    assert client.post(of("remove", made)).status_code == 404
    assert DataExport.objects.get() == made


# ---- back -----------------------------------------------------------------------------------------------


@pytest.fixture
def newcomer(client, db):
    """The admin of a firm that has nothing yet."""
    organisation = empty_firm()
    client.force_login(organisation.memberships.get().user)
    client.organisation = organisation
    return client


def send(client, content, **changes):
    shown = as_shown(client.get(RESTORE).content.decode())
    return client.post(RESTORE, shown | {"archive": SimpleUploadedFile("everything.zip", content)} | changes)


def test_an_archive_is_brought_back_by_its_page(newcomer, firm):
    answer = send(newcomer, archive_of(firm.organisation).getvalue())

    assert (answer.status_code, answer.headers["Location"]) == (302, LIST)
    assert "is being brought back" in words(newcomer, LIST)
    row = Restoration.objects.get()
    jobs.run("exchange.Restoration", row.pk)
    row.refresh_from_db()
    assert f": {row.rows} rows." in words(newcomer, LIST)
    assert Owner.objects.of_organisation(newcomer.organisation).get().name == firm.owner.name


def test_what_is_no_archive_is_told_beside_the_field_and_kept_nowhere(newcomer):
    answer = send(newcomer, b"PK\x03\x04 something else")

    assert answer.status_code == 200
    assert "This is not an archive" in answer.content.decode()
    assert not Restoration.objects.exists()


@pytest.mark.parametrize(
    ("sent", "said"), [(b"", "The file is empty. Choose it again."), (None, "Choose a file.")]
)
def test_nothing_or_an_empty_file_is_asked_for_again(newcomer, sent, said):
    changes = {} if sent is not None else {"archive": ""}

    assert said in send(newcomer, sent or b"", **changes).content.decode()
    assert not Restoration.objects.exists()


def test_a_firm_with_records_is_told_so_before_anything_is_kept(admin, firm):
    answer = send(admin, archive_of(firm.organisation).getvalue())

    assert "has records already" in answer.content.decode()
    assert not Restoration.objects.exists()


def test_what_went_wrong_is_told_on_the_page_of_archives(newcomer, firm):
    send(newcomer, archive_of(firm.organisation).getvalue())
    Restoration.objects.update(state="failed", error="The archive is broken or was changed: x.")

    assert "The archive is broken or was changed: x." in words(newcomer, LIST)
