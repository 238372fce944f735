"""What every answer carries, whatever made it: pages, files, papers, exports and pages of errors."""

import pytest
from django.conf import settings as configured
from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.test import Client
from django.urls import reverse

from core.views.file_responses import PLAYER, SANDBOX, thumbnail_response
from core.views.safety import CONTENT_SECURITY_POLICY, MOST_ANONYMOUS_BYTES, SafetyMiddleware
from qa.models import Attachment
from tests.factories import AttachmentFactory, RoundFactory
from tests.permissions import rows_of


def through(request, answer=None):
    """An answer as it leaves the middleware."""
    return SafetyMiddleware(lambda _: answer or HttpResponse())(request)


@pytest.fixture
def strangers(rf):
    """A request of somebody who is not signed in, of a length."""

    def made(length=None, **headers):
        request = rf.post("/", headers=headers)
        request.user = AnonymousUser()
        if length is not None:
            request.META["CONTENT_LENGTH"] = length
        return request

    return made


@pytest.fixture
def firm_page(client, firm):
    client.force_login(firm.coordinator)
    return client


# ---- Policies ------------------------------------------------------------------------------------


def test_an_answer_without_headers_of_its_own_gets_all_three(strangers):
    answer = through(strangers())

    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert answer.headers["Permissions-Policy"] == "camera=(self), geolocation=(self), microphone=()"
    assert answer.headers["Cache-Control"] == "no-store, private"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("Content-Security-Policy", "default-src 'none'"),
        ("Permissions-Policy", "camera=()"),
        ("Cache-Control", "private, max-age=300"),
        ("Cache-Control", "public, max-age=31536000, immutable"),
    ],
)
def test_what_a_view_set_itself_is_left_as_it_is(strangers, name, value):
    answer = through(strangers(), HttpResponse(headers={name: value}))

    assert answer.headers[name] == value


PAGES = {
    "a paper": lambda firm: reverse("reporting:handover-download", args=[firm.surface.pk]),
    "an export": lambda firm: reverse("maintenance:surface-list") + "?export=csv",
    "a sheet": lambda firm: reverse("maintenance:surface-list") + "?export=xlsx",
    "a report": lambda firm: reverse("reporting:report-site", args=[firm.site.pk]),
    "a list": lambda firm: reverse("planning:visit-list"),
    "a form": lambda firm: reverse("qa:surface-edit", args=[firm.surface.pk]),
}


@pytest.mark.parametrize("name", PAGES)
def test_what_is_of_a_firm_is_kept_in_no_cache_and_loads_from_here_alone(firm_page, firm, name):
    answer = firm_page.get(PAGES[name](firm))

    assert answer.status_code == 200
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert "private" in answer.headers["Cache-Control"]
    assert "public" not in answer.headers["Cache-Control"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("name", ["a paper", "an export", "a report", "a list"])
def test_who_asks_for_the_head_of_a_page_gets_its_headers_and_no_body(firm_page, firm, name):
    answer = firm_page.head(PAGES[name](firm))

    assert (answer.status_code, answer.getvalue()) == (200, b"")
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY


ERRORS = {
    404: lambda client, firm: client.get("/surfaces/00000000-0000-4000-8000-000000000000/"),
    403: lambda client, firm: client.get(reverse("accounts:firm-settings")),
    405: lambda client, firm: client.get(reverse("accounts:firm-switch")),
    302: lambda client, firm: Client().get(reverse("accounts:firm")),
}


@pytest.mark.parametrize("status", ERRORS)
def test_a_page_of_an_error_is_held_to_the_same(firm_page, firm, status):
    answer = ERRORS[status](firm_page, firm)

    assert answer.status_code == status
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert answer.headers["Cache-Control"] == "no-store, private"


def test_a_refusal_of_a_step_is_held_to_the_same(firm_page, firm):
    visit = rows_of(firm)["visit"]
    cancel = reverse("planning:visit-cancel", args=[visit])
    firm_page.post(cancel, {"reason": "Rain."})

    answer = firm_page.post(cancel, {"reason": "Rain."})

    assert answer.status_code == 409
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY


def test_the_page_of_a_failed_cross_site_check_is_held_to_the_same(firm):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(firm.admin)

    answer = strict.post(reverse("accounts:me"), {"full_name": "A"})

    assert answer.status_code == 403
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY


@pytest.mark.parametrize(
    ("media_type", "policy"), [("image/jpeg", SANDBOX), ("application/pdf", SANDBOX), ("video/mp4", PLAYER)]
)
def test_a_file_keeps_the_narrower_policy_of_files(firm_page, firm, media_type, policy):
    row = AttachmentFactory(round=RoundFactory(surface=firm.surface), media_type=media_type)

    answer = firm_page.get(row.file_url())

    assert answer.headers["Content-Security-Policy"] == policy
    assert answer.headers["Cache-Control"] == "private, max-age=300"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"


@pytest.mark.parametrize(
    ("media_type", "way"),
    [("image/jpeg", "inline"), ("application/pdf", "attachment"), ("video/mp4", "inline")],
)
def test_a_paper_is_saved_and_what_can_be_looked_at_is_shown(firm_page, firm, media_type, way):
    row = AttachmentFactory(round=RoundFactory(surface=firm.surface), media_type=media_type)

    answer = firm_page.get(row.file_url())

    assert answer.headers["Content-Disposition"].startswith(way)
    assert answer.headers["Content-Type"] == media_type


def test_a_file_that_is_lost_from_the_disk_is_not_found(firm_page, firm):
    row = AttachmentFactory(surface=firm.surface)
    row.content.storage.delete(row.content.name)

    assert firm_page.get(row.file_url()).status_code == 404


def test_a_file_without_a_small_picture_says_so():
    with pytest.raises(Http404, match="no small picture"):
        thumbnail_response(Attachment(media_type="application/pdf"))


# ---- Videos --------------------------------------------------------------------------------------


@pytest.fixture
def video(firm):
    row = AttachmentFactory(surface=firm.surface, media_type="video/mp4", thumbnail="")
    with row.content.open("rb") as content:
        return row, content.read()


def test_a_player_that_holds_this_very_video_is_given_the_next_piece(firm_page, video):
    row, content = video
    mark = firm_page.get(row.file_url()).headers["ETag"]

    answer = firm_page.get(row.file_url(), headers={"range": "bytes=0-", "if-range": mark})

    assert (answer.status_code, b"".join(answer.streaming_content)) == (206, content)
    assert answer.headers["Content-Range"] == f"bytes 0-{len(content) - 1}/{len(content)}"


def test_a_player_that_held_another_is_given_the_whole(firm_page, video, firm):
    row, content = video
    other = AttachmentFactory(surface=firm.surface, media_type="video/mp4", thumbnail="")
    mark = firm_page.get(other.file_url()).headers["ETag"]

    answer = firm_page.get(row.file_url(), headers={"range": "bytes=3-5", "if-range": mark})

    assert (answer.status_code, b"".join(answer.streaming_content)) == (200, content)


@pytest.mark.parametrize(
    ("asked", "status", "length"), [(None, 200, None), ("bytes=0-9", 206, "10"), ("bytes=999999-", 416, None)]
)
def test_who_asks_for_the_head_learns_the_length_and_is_sent_nothing(firm_page, video, asked, status, length):
    row, content = video
    headers = {"range": asked} if asked else {}

    answer = firm_page.head(row.file_url(), headers=headers)

    assert answer.status_code == status
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert body == b""
    if status != 416:
        assert answer.headers["Content-Length"] == (length or str(len(content)))


def test_a_piece_of_nothing_asks_for_all(firm_page, video):
    row, content = video

    answer = firm_page.get(row.file_url(), headers={"range": "bytes=-"})

    assert (answer.status_code, answer.headers["Content-Length"]) == (200, str(len(content)))


# ---- Large bodies --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "status"),
    [
        (None, 200),
        ("", 200),
        ("0", 200),
        (str(MOST_ANONYMOUS_BYTES), 200),
        (str(MOST_ANONYMOUS_BYTES + 1), 413),
        ("9" * 30, 413),
        ("-1", 200),
        ("many", 200),
    ],
)
def test_a_strangers_body_is_judged_by_the_length_that_was_announced(strangers, length, status):
    assert through(strangers(length)).status_code == status


def test_a_session_that_is_nobodys_opens_no_way_for_large_bodies(strangers):
    request = strangers(str(MOST_ANONYMOUS_BYTES + 1))
    request.COOKIES[configured.SESSION_COOKIE_NAME] = "x" * 32

    assert through(request).status_code == 413


def test_who_is_signed_in_sends_what_the_form_takes(strangers, firm):
    request = strangers(str(50 * MOST_ANONYMOUS_BYTES))
    request.COOKIES[configured.SESSION_COOKIE_NAME] = "x" * 32
    request.user = firm.technician

    assert through(request).status_code == 200
