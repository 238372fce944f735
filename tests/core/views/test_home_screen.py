"""What a phone is told that puts the program on its home screen."""

import re
from io import BytesIO

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse
from PIL import Image

from core.views.home_screen import GROUND, ICONS, STONE

SOURCES = {size for _, size, _ in ICONS}


@pytest.fixture
def told(client):
    answer = client.get(reverse("manifest"))
    assert answer["Content-Type"] == "application/manifest+json"
    return answer.json()


def test_it_opens_the_first_page_in_a_window_of_its_own(told):
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    assert told["name"] == told["short_name"] == "Rainthrough"


@pytest.mark.parametrize(("name", "size", "purpose"), ICONS)
def test_each_icon_is_there_in_the_size_it_is_said_to_have(told, name, size, purpose):
    (named,) = [icon for icon in told["icons"] if name.removesuffix(".png") in icon["src"]]
    path = finders.find(f"icons/{name}")

    with open(path, "rb") as file, Image.open(BytesIO(file.read())) as picture:
        shown = f"{picture.width}x{picture.height}"
    assert (shown, named["sizes"], named["purpose"]) == (size, size, purpose)


def test_a_phone_that_cuts_icons_to_a_circle_has_one_whose_mark_lies_within():
    """The mark lies within 40 % of the side about the middle (W3C Web Application Manifest, from memory)."""
    with Image.open(finders.find("icons/home-whole-512.png")) as picture:
        pixels, ground = picture.convert("RGB"), (0xDD, 0xE1, 0xDA)
        outside = [
            (x, y)
            for x in range(0, 512, 4)
            for y in range(0, 512, 4)
            if (x - 256) ** 2 + (y - 256) ** 2 > (0.4 * 512) ** 2 and pixels.getpixel((x, y)) != ground
        ]
    assert outside == []


def test_its_colours_are_those_of_the_pages():
    tokens = finders.find("css/tokens.css")
    with open(tokens, encoding="utf-8") as file:
        css = file.read()

    assert f"--ground: light-dark({GROUND}," in css
    assert f"--joint: light-dark({STONE}," in css


def test_pages_name_it_and_it_may_be_kept_for_an_hour(client, db):
    page = client.get(reverse("account_login")).content.decode()

    assert re.search(r'<link rel="manifest" href="/app.webmanifest">', page)
    assert client.get(reverse("manifest"))["Cache-Control"] == "public, max-age=3600"


def test_it_is_read_and_not_sent_to(client):
    assert client.post(reverse("manifest")).status_code == 405
