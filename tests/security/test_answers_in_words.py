"""What a server meets on a bad day or from a bad sender is answered in words, never by a fault of ours."""

import errno
import os

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError
from django.test import RequestFactory
from django.urls import reverse
from kombu.exceptions import OperationalError as NoBroker

from core.services import jobs
from core.services.storage import WholeFileStorage
from core.views.requests import Wsgi
from maintenance.models import Forecast
from qa.models import Attachment, TestRound
from tests.factories import InfiltrationTestFactory, RoundFactory

pytestmark = pytest.mark.django_db
FULL = OSError(errno.ENOSPC, "No space left on device")
FORM = "application/x-www-form-urlencoded"


@pytest.fixture
def visitor(client, firm):
    """The firm's coordinator, who is shown what a browser would be shown."""
    client.force_login(firm.coordinator)
    client.raise_request_exception = False
    return client


def words(answer):
    return answer.content.decode()


def test_a_forecast_is_asked_for_while_redis_is_away(visitor, firm, monkeypatch):
    def away(*args):
        raise NoBroker("Error 111 connecting to redis.")

    monkeypatch.setattr(jobs, "_deliver", [away])
    monkeypatch.setattr(jobs, "_deliver_batches", [away])

    answer = visitor.post(reverse("maintenance:surface-refresh", args=[firm.surface.pk]), follow=True)
    fit = visitor.post(reverse("maintenance:fit-create"), follow=True)

    assert (answer.status_code, fit.status_code) == (200, 200)
    assert Forecast.objects.wanted().filter(surface=firm.surface).exists()


@pytest.fixture
def photo():
    from io import BytesIO

    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(out, "JPEG")
    return SimpleUploadedFile("joint.jpg", out.getvalue(), "image/jpeg")


def test_a_photo_for_which_there_is_no_room_is_refused_in_words(visitor, firm, photo, monkeypatch):
    def full(*args, **kwargs):
        raise FULL

    monkeypatch.setattr("django.core.files.storage.memory.InMemoryStorage._save", full)

    answer = visitor.post(
        reverse("qa:surface-file-create", args=[firm.surface.pk]), {"photos": photo, "caption": "Joint"}
    )

    assert answer.status_code == 507
    assert "The disk of the server is full" in words(answer)
    assert not Attachment.objects.exists()


def test_a_file_that_is_cut_off_by_a_full_disk_is_taken_away(tmp_path, monkeypatch):
    storage = WholeFileStorage(location=tmp_path)

    class Endless(ContentFile):
        def chunks(self, chunk_size=None):
            yield b"the first piece"
            raise FULL

    with pytest.raises(OSError, match="No space left"):
        storage.save("photos/a.jpg", Endless(b""))

    assert [name for _, _, names in os.walk(tmp_path) for name in names] == []


def test_djangos_own_storage_leaves_the_piece_which_shows_that_the_test_above_would_notice(tmp_path):
    class Endless(ContentFile):
        def chunks(self, chunk_size=None):
            yield b"the first piece"
            raise FULL

    with pytest.raises(OSError, match="No space left"):
        FileSystemStorage(location=tmp_path).save("a.jpg", Endless(b""))

    assert [name for _, _, names in os.walk(tmp_path) for name in names] == ["a.jpg"]


@pytest.mark.parametrize(
    "error", [FULL, OperationalError("database or disk is full")], ids=["disk", "database"]
)
def test_a_full_disk_is_said_wherever_it_is_met(visitor, firm, monkeypatch, error):
    def full(**kwargs):
        raise error

    monkeypatch.setattr("qa.views.sites.register.save_site", full)
    site = {"name": "School", "time_zone": "Europe/Berlin", "owner": str(firm.owner.pk)}

    answer = visitor.post(reverse("qa:site-create"), site)

    assert answer.status_code == 507
    assert "The disk of the server is full" in words(answer)


def test_another_fault_of_ours_stays_one(visitor, firm, monkeypatch):
    def broken(**kwargs):
        raise RuntimeError("unforeseen")

    monkeypatch.setattr("qa.views.sites.register.save_site", broken)
    site = {"name": "School", "time_zone": "Europe/Berlin", "owner": str(firm.owner.pk)}

    assert visitor.post(reverse("qa:site-create"), site).status_code == 500


@pytest.mark.parametrize("charset", ["koi8-r", "utf-16", "hex", "rot13", "no-such-set", "idna", "a\tb"])
@pytest.mark.parametrize("kind", [FORM, "multipart/form-data; boundary=x"])
def test_a_form_in_another_character_set_is_refused_in_words(visitor, firm, charset, kind):
    url = reverse("qa:site-create")

    answer = visitor.generic("POST", url, b"name=School", content_type=f"{kind}; charset={charset}")

    assert answer.status_code == 415
    assert "Send it as UTF-8" in words(answer)


@pytest.mark.parametrize("charset", ["utf-8", "UTF8", "us-ascii"])
def test_a_form_that_says_utf_8_or_a_part_of_it_is_read(visitor, firm, charset):
    answer = visitor.generic(
        "POST", reverse("qa:site-create"), b"name=School", content_type=f"{FORM}; charset={charset}"
    )

    assert answer.status_code == 200
    assert 'value="School"' in words(answer)


@pytest.mark.parametrize("charset", ["hex", "rot13", "koi8-r"])
def test_the_server_itself_reads_an_address_whatever_character_set_is_named_with_it(firm, charset):
    environ = RequestFactory().get("/sign-in/login/", {"next": "/x"}).environ
    environ |= {"CONTENT_TYPE": f"{FORM}; charset={charset}", "HTTP_HOST": "localhost"}
    said = []

    Wsgi()(environ, lambda status, headers: said.append(status))

    assert said == ["415 Unsupported Media Type"]


@pytest.mark.parametrize("body", [b"name=%ff%fe&owner=", b"name=\xff\xfe", b"\xff=\xff", b"name=%ED%A0%80"])
def test_bytes_that_are_no_text_are_shown_again_as_such(visitor, firm, body):
    answer = visitor.post(reverse("qa:site-create"), body, content_type=FORM)

    assert answer.status_code == 200


@pytest.mark.parametrize("url", ["/surfaces/?q=Sur%00face", "/reports/?q=%00", "/visits/?%00=1"])
def test_a_character_of_code_0_that_an_address_asks_for_is_left_out(visitor, firm, url):
    answer = visitor.get(url)

    assert answer.status_code == 200
    assert "\x00" not in "".join(name + "".join(values) for name, values in answer.wsgi_request.GET.lists())


@pytest.mark.parametrize("url", ["/join/a%00b/", "/%00"])
def test_nothing_is_at_an_address_with_a_character_of_code_0(visitor, firm, url):
    answer = visitor.get(url)

    assert answer.status_code == 404
    assert "character of code 0" in words(answer)


def test_a_cookie_with_one_is_refused(visitor, firm):
    visitor.cookies["sessionid"] = "a\x00b"

    answer = visitor.get("/")

    assert answer.status_code == 400


@pytest.mark.parametrize("field", ["name", "address", "access_note"])
def test_a_character_of_code_0_in_a_form_is_said_beside_its_field(visitor, firm, field):
    site = {"name": "School", "time_zone": "Europe/Berlin", "owner": str(firm.owner.pk), field: "a\x00b"}

    answer = visitor.post(reverse("qa:site-create"), site)

    assert answer.status_code == 200
    assert "Null characters are not allowed" in words(answer)


@pytest.mark.parametrize("route", ["qa:round-void", "qa:test-void"])
def test_a_reason_is_a_field_too(visitor, firm, route):
    test = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    row = test if "test" in route else test.round

    answer = visitor.post(reverse(route, args=[row.pk]), {"reason": "a\x00b"})

    assert answer.status_code == 200
    assert TestRound.objects.filter(state="active").exists()


def test_a_body_that_is_broken_is_refused_in_words(visitor, firm):
    answer = visitor.post(
        reverse("qa:site-create"), b"--x", content_type="multipart/form-data; boundary=" + "é" * 3
    )

    assert answer.status_code == 400
    assert "damaged" in words(answer)
