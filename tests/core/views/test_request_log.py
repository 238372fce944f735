"""One id from the request to its lines, its answer and the page that a person sees."""

import logging

import pytest
from django.db import OperationalError, connection
from django.http import FileResponse, StreamingHttpResponse
from django.test import Client

from core.services import log_context
from core.views.request_log import HEADER, RequestLog

GIVEN = "3a8f801c-072b-4805-8f38-e1337f363ed4"


@pytest.fixture
def lines(caplog):
    """What was said of requests so far, as fields."""
    caplog.set_level(logging.INFO)
    return lambda: [
        record.msg for record in caplog.records if record.name == "django_structlog.middlewares.request"
    ]


@pytest.mark.django_db
def test_a_request_is_one_line_with_its_ids_status_and_duration(client, firm, lines):
    client.force_login(firm.admin)

    answer = client.get("/firm/")

    (line,) = lines()
    assert line["request"] == "GET /firm/"
    assert line["code"] == 200
    assert line["request_id"] == answer[HEADER]
    assert line["person_id"] == firm.admin.pk
    assert line["firm_id"] == str(firm.organisation.pk)
    assert line["duration_ms"] >= 0


@pytest.mark.django_db
def test_a_line_holds_no_name_no_address_and_nothing_that_was_searched_for(client, firm, lines):
    client.force_login(firm.admin)

    client.get("/surfaces/?q=Harbour", headers={"user-agent": "A phone"}, REMOTE_ADDR="203.0.113.9")

    said = str(lines())
    for word in ("Harbour", "A phone", "203.0.113.9", firm.admin.email, firm.organisation.name):
        assert word not in said


@pytest.mark.django_db
def test_a_path_begins_no_line_of_its_own(client, lines):
    client.get("/a%0AINFO forged: line/")

    (line,) = lines()
    assert line["request"] == "GET /a\\nINFO forged: line/"


@pytest.mark.django_db
def test_two_requests_have_two_ids_and_nothing_stays_behind(client, firm):
    client.force_login(firm.admin)

    first, second = client.get("/firm/")[HEADER], client.get("/firm/")[HEADER]

    assert first != second
    assert log_context.request_id() == ""


@pytest.mark.parametrize(("proxies", "taken"), [(1, True), (2, True), (0, False)])
def test_an_id_from_outside_is_taken_from_a_proxy_of_ours_alone(client, settings, proxies, taken):
    settings.PROXIES = proxies

    answer = client.get("/live/", headers={HEADER: GIVEN})

    assert (answer[HEADER] == GIVEN) == taken


@pytest.mark.parametrize("given", ["x", "a b c d e f g h", "A" * 65, "<b>abcdefgh</b>"])
def test_an_id_of_another_form_is_not_taken_from_anybody(client, settings, given):
    settings.PROXIES = 1

    assert client.get("/live/", headers={HEADER: given})[HEADER] != given


def test_what_is_asked_every_few_seconds_is_no_line_unless_it_fails(client, lines, settings):
    client.get("/live/")
    assert lines() == []

    client.post("/live/")

    assert [line["code"] for line in lines()] == [405]


@pytest.mark.django_db
def test_a_page_that_is_not_there_shows_the_code_of_its_line(client, firm, lines):
    client.force_login(firm.admin)

    answer = client.get("/nothing/here/")

    assert answer.status_code == 404
    assert f"quote the code <code>{answer[HEADER]}</code>" in answer.content.decode()
    assert lines()[-1]["request_id"] == answer[HEADER]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("actor", "address", "status"), [("viewer", "/firm/settings/", 403), ("viewer", "/jobs/", 403)]
)
def test_a_refusal_shows_it_too(client, firm, actor, address, status):
    client.force_login(getattr(firm, actor))

    answer = client.get(address)

    assert answer.status_code == status
    assert answer[HEADER] in answer.content.decode()


@pytest.mark.django_db
def test_a_stale_form_shows_it_too(firm):
    client = Client(enforce_csrf_checks=True)
    client.force_login(firm.admin)

    answer = client.post("/jobs/plan-x/again/")

    assert answer.status_code == 403
    assert answer[HEADER] in answer.content.decode()


@pytest.fixture
def broken(monkeypatch):
    """A server whose database is away."""

    def away(*_):
        raise OperationalError("connection refused")

    monkeypatch.setattr(connection, "ensure_connection", away)
    monkeypatch.setattr(connection, "cursor", away)
    return Client(raise_request_exception=False)


def test_without_a_database_the_page_still_says_what_to_quote(broken, lines, settings):
    broken.cookies[settings.SESSION_COOKIE_NAME] = "of-somebody-who-is-signed-in"

    answer = broken.get("/firm/")

    page = answer.content.decode()
    assert answer.status_code == 500
    assert "The page could not be made" in page
    assert f"<code>{answer[HEADER]}</code>" in page
    (line,) = lines()
    assert (line["event"], line["request_id"]) == ("request_failed", answer[HEADER])
    assert line["duration_ms"] >= 0


def test_a_fault_is_told_once_with_its_traceback(broken, caplog, settings):
    broken.cookies[settings.SESSION_COOKIE_NAME] = "of-somebody-who-is-signed-in"

    broken.get("/firm/")

    told = [record for record in caplog.records if record.levelno >= logging.ERROR]
    assert len(told) == 1


def test_a_file_is_still_handed_out_by_the_server_itself(rf, tmp_path):
    """What a server hands out without reading it piece by piece is not wrapped by the log."""
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"light")
    with photo.open("rb") as opened:
        answer = RequestLog(lambda request: FileResponse(opened))(rf.get("/files/"))

        assert answer.file_to_stream is opened
        assert b"".join(answer.streaming_content) == b"light"


def test_what_is_made_while_it_is_sent_belongs_to_its_request(rf, lines):
    def made():
        yield log_context.request_id().encode()

    answer = RequestLog(lambda request: StreamingHttpResponse(made()))(rf.get("/surfaces/"))

    assert b"".join(answer.streaming_content).decode() == answer[HEADER]
    assert [line["event"] for line in lines()] == ["request_finished", "streaming_finished"]
