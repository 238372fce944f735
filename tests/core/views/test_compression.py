"""Pages are sent compressed; files, of which a browser may ask for a piece, as they are."""

from gzip import decompress
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
