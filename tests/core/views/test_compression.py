"""Pages are sent compressed; files, of which a browser may ask for a piece, as they are."""

from gzip import compress, decompress
from io import BytesIO

import pytest
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.test import RequestFactory
from django.urls import reverse

from core.views.compression import PageCompression

LONG = b"<p>Rainthrough</p>" * 100


def sent(response):
    request = RequestFactory().get("/", HTTP_ACCEPT_ENCODING="gzip")
    return PageCompression(lambda _: response)(request)


def test_a_page_is_compressed_and_says_so():
    response = sent(HttpResponse(LONG))

    assert response["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in response["Vary"]
    assert decompress(response.content) == LONG
    assert len(response.content) < len(LONG) / 5


@pytest.mark.parametrize(
    "response",
    [
        FileResponse(BytesIO(LONG), content_type="video/mp4"),
        HttpResponse(LONG, status=206, content_type="video/mp4"),
        HttpResponse(LONG, content_type="application/pdf"),
        StreamingHttpResponse([LONG], content_type="text/csv"),
    ],
)
def test_a_file_keeps_its_places_and_its_length(response):
    assert "Content-Encoding" not in sent(response)


def test_the_same_page_is_never_as_long_twice_so_that_its_length_tells_nothing():
    assert len({len(sent(HttpResponse(LONG)).content) for _ in range(20)}) > 1


def test_every_page_goes_through_it(client, db):
    response = client.get(reverse("account_login"), headers={"accept-encoding": "gzip"})

    assert response["Content-Encoding"] == "gzip"


def test_a_browser_that_cannot_unpack_gets_the_page_as_it_is():
    request = RequestFactory().get("/")

    response = PageCompression(lambda _: HttpResponse(LONG))(request)

    assert "Content-Encoding" not in response
    assert response.content == LONG


@pytest.mark.parametrize("kind", ["text/html", "text/html; charset=utf-8"])
def test_a_page_is_known_by_its_kind_whatever_its_letters(kind):
    assert sent(HttpResponse(LONG, content_type=kind))["Content-Encoding"] == "gzip"


def test_a_page_too_short_to_gain_from_it_is_sent_as_it_is():
    assert "Content-Encoding" not in sent(HttpResponse(b"<p>Saved.</p>"))


def test_an_answer_without_a_kind_is_left_alone():
    response = HttpResponse(LONG)
    del response.headers["Content-Type"]

    assert sent(response).content == LONG


def test_what_was_packed_before_is_not_packed_twice():
    response = HttpResponse(compress(LONG), headers={"Content-Encoding": "gzip"})

    assert decompress(sent(response).content) == LONG


def test_the_length_that_is_told_is_that_of_what_is_sent():
    response = sent(HttpResponse(LONG, headers={"Content-Length": str(len(LONG))}))

    assert int(response["Content-Length"]) == len(response.content) < len(LONG)


def test_a_strong_mark_of_the_whole_page_becomes_a_weak_one_of_the_packed():
    assert sent(HttpResponse(LONG, headers={"ETag": '"abc"'}))["ETag"] == 'W/"abc"'
