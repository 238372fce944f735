"""One name for one page: what a menu or a trail calls it is what its heading and its title call it."""

from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest
from django.urls import resolve, reverse

from tests.permissions import TABLE
from tests.test_offers import ours

MENUS = ("Places", "Trail", "person__menu")  # by label or class
# Routes whose page is called otherwise where one comes from below it, and why.
ALLOWED = {
    "accounts:firm": "the menu has room for one word; the page is headed by the firm's own name",
    "qa:round-detail": "the trail of a test names its round by the day, the page says also why it was made",
    "qa:test-detail": "below a round the page need not say the day, the trail of a photo does",
    "qa:check-detail": "the trail names an entry by its day; it stands on the page of its check",
    "qa:water-detail": "a soil test has no page of its own: its trail leads to where it stands",
    "qa:sieving-detail": "the page is headed by the layer, the trail names the sample by its day",
    "qa:finding-detail": "a remedy has no page of its own: its trail leads to what it put right",
    "maintenance:cleaning-detail": "a photo has no page of its own: its trail leads to the cleaning",
    "maintenance:training-detail": "the trail names it by the day as the archive writes it",
}
# Routes whose title says it in another way, and why.
TITLED = {
    "qa:sieving-create": "the first of two steps asks for the stone, and is headed by its question",
    "qa:test-correct": "the tab names what is done, the heading of which test it is",
    "reporting:kept-show": "the tab names the document, the heading that it is a kept one",
    "planning:visit-detail": "the tab names the visit as lists do",
}
VOID = {"img", "input", "br", "hr", "meta", "link", "use", "path", "rect", "circle", "line"}


class Page(HTMLParser):
    """Title, first heading, and the links of menus and trails, each with the words that are seen."""

    def __init__(self):
        super().__init__()
        self.title, self.heading, self.links = "", "", {}
        self._open, self._words, self._hidden = [], [], 0

    def handle_starttag(self, tag, attributes):
        if tag in VOID:
            return
        given = dict(attributes)
        self._open.append((tag, given))
        if tag in ("a", "h1", "title"):
            self._words = []

    def handle_endtag(self, tag):
        while self._open:
            name, given = self._open.pop()
            if name == tag:
                break
        else:
            return
        said = " ".join("".join(self._words).split())
        if tag == "title" and not self.title:
            self.title = said.removesuffix(" · Rainthrough")
        elif tag == "h1" and not self.heading:
            self.heading = said
        elif tag == "a" and self._in_menu():
            self.links[given.get("href", "")] = said

    def handle_data(self, data):
        if not any("visually-hidden" in (given.get("class") or "") for _, given in self._open):
            self._words.append(data)

    def _in_menu(self):
        return any(given.get("aria-label") in MENUS or given.get("class") in MENUS for _, given in self._open)


def read(client, url):
    answer = client.get(url, follow=True)
    page = Page()
    page.feed(answer.content.decode())
    return page


def is_named(route):
    """Whether it is a page of the program: one that strangers open by a letter is headed by who wrote to them."""
    return TABLE[route][1] != "token" and not route.endswith(("-download", "-sheet", "-paper"))


def starts(firm):
    """A page of every kind that can be read."""
    for route, (method, kind, _) in TABLE.items():
        if method == "get" and is_named(route):
            yield reverse(route, args=[firm.rows[kind]] if kind else [])


def pages(client, firm):
    for url in starts(firm):
        answer = client.get(url)
        if answer.status_code == 200 and "html" in answer["Content-Type"]:
            page = Page()
            page.feed(answer.content.decode())
            yield url, page


def is_named_as(said, heading):
    """The same name; a trail may add the day that tells two pages of one name apart."""
    return said == heading or (bool(heading) and said.startswith((f"{heading} of ", f"{heading} on ")))


@pytest.fixture
def firm(furnished):
    return furnished


def test_menus_and_trails_call_each_page_as_its_heading_does(client, firm):
    client.force_login(firm.admin)
    called, headings = {}, {}
    for url, page in pages(client, firm):
        headings[url] = page.heading
        for href, said in page.links.items():
            if ours(urljoin(url, href)) or "/sign-in/" in href:
                called.setdefault(urlsplit(urljoin(url, href)).path, {})[said] = url

    differ = {}
    for path, names in called.items():
        heading = headings[path] if path in headings else read(client, path).heading
        for said, seen_on in names.items():
            if not is_named_as(said, heading) and resolve(path).view_name not in ALLOWED:
                differ[path, said] = (heading, seen_on)
    assert differ == {}


def titled_otherwise(markup, route):
    """Title and heading of a page that do not say the same; `tests/test_permissions.py` asks it of those it opens.

    A title may say more, such as the surface, since it stands alone in a row of tabs.
    """
    page = Page()
    page.feed(markup)
    title, heading = page.title.lower(), page.heading.lower()
    alike = title in heading or heading in title or route in TITLED
    return [] if alike else [(page.title, page.heading)]


def test_a_title_that_says_something_else_than_the_heading_is_found():
    page = "<title>Rounds of Yard 7 · Rainthrough</title><h1>{}</h1>"

    assert titled_otherwise(page.format("Rounds"), "maintenance:surface-list") == []
    assert titled_otherwise(page.format("Tests"), "maintenance:surface-list") == [
        ("Rounds of Yard 7", "Tests")
    ]
