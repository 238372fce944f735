"""A language in which every text that was looked up stands in brackets, so that what was not is seen on a page."""

import re
from html.parser import HTMLParser
from zoneinfo import available_timezones

from django.apps import apps
from django.db import models
from django.utils.translation import _trans

from core.calc.countries import countries
from core.calc.currency import CURRENCIES

WRITTEN = (models.CharField, models.TextField, models.JSONField)
OPENS, CLOSES = "⟦", "⟧"
_INNERMOST = re.compile(f"{OPENS}[^{OPENS}{CLOSES}]*{CLOSES}")
_WORD = re.compile(r"[^\W\d_]{3,}")
_READ_OUT = ("alt", "title", "aria-label", "placeholder", "data-label", "aria-description")
_UNSEEN = ("script", "style", "code", "template")
# Units, names of standards, months and days (which come from a library), and what is the same in every language.
SAME = {
    *(
        "min",
        "max",
        "mm",
        "mm²",
        "ft²",
        "kPa",
        "psi",
        "bar",
        "lux",
        "SI",
        "US",
        "EUR",
        "USD",
        "GBP",
        "UTC",
        "ASTM",
        "CBR",
        "ISO",
        "EN",
    ),
    *(
        "PDF",
        "CSV",
        "XLSX",
        "JSON",
        "API",
        "URL",
        "TOTP",
        "QR",
        "SQL",
        "OpenAPI",
        "Rainthrough",
        "English",
        "Français",
    ),
    *("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    *("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    *("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"),
    *(
        "January",
        "February",
        "March",
        "April",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ),
}
# What lists of countries, zones and currencies hold: it comes from libraries, or is a name.
LISTED = set(
    _WORD.findall(
        " ".join([*(one.name for one in countries().values()), *available_timezones(), *sorted(CURRENCIES)])
    )
)


def bracket(monkeypatch):
    """Let every text that is looked up come back in brackets."""
    said = {
        "gettext": lambda text: _in(text),
        "pgettext": lambda context, text: _in(text),
        "ngettext": lambda one, many, number: _in(one if number == 1 else many),
        "npgettext": lambda context, one, many, number: _in(one if number == 1 else many),
    }
    said["get_language"] = lambda: "en-brackets"  # what is remembered by language is looked up anew
    for name, function in said.items():
        getattr(_trans, name)  # Django puts its functions there when the first one is asked for
        monkeypatch.setattr(_trans, name, function)


def _in(text):
    """In brackets; a unit behind a name in brackets of its own, which fields cut off for that of the reader."""
    name, unit, rest = str(text).partition(" (")
    said = f"{OPENS}{name}{CLOSES}" if name.strip() else name
    return f"{said} {OPENS}({rest}{CLOSES}" if unit else said


class _Seen(HTMLParser):
    """What people see of a page, and what is read out to them, but for parts that say which language they are in."""

    def __init__(self):
        super().__init__()
        self.texts, self._hidden = [], 0
        self._other = []  # the element in another language, and those of its kind within it

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag in self._other or (not self._other and tag != "html" and "lang" in found):
            self._other.append(tag)
        self._hidden += tag in _UNSEEN
        if self._other:
            return
        self.texts += [found[name] for name in _READ_OUT if found.get(name)]
        if tag == "input" and found.get("type") in ("submit", "button") and found.get("value"):
            self.texts.append(found["value"])

    def handle_endtag(self, tag):
        self._hidden -= tag in _UNSEEN
        if tag in self._other:
            self._other.pop()

    def handle_data(self, data):
        if not self._hidden and not self._other:
            self.texts.append(data)


def unmarked(page, data):
    """The texts of a page, as HTML, with words that were not looked up. data: what people wrote, which is as it is."""
    seen = _Seen()
    seen.feed(page)
    left = (without_marked(" ".join(text.split())) for text in _joined(seen.texts))
    found = [text for text in left if _words(text, data)]
    return sorted(set(found))


def texts_seen(page):
    """What people see of a page, as HTML, piece by piece."""
    seen = _Seen()
    seen.feed(page)
    return [" ".join(text.split()) for text in seen.texts]


def _joined(texts):
    """A bracket may open in one piece of text and close in another, where a text has a tag within it."""
    held = ""
    for text in texts:
        held += text
        if held.count(OPENS) <= held.count(CLOSES):
            yield held
            held = ""
    yield held


def without_marked(text):
    """A text without what stands in brackets."""
    while (shorter := _INNERMOST.sub(" ", text)) != text:
        text = shorter
    return text.replace(CLOSES, " ").strip()


def _words(text, data):
    if set(_WORD.findall(text)) <= SAME | LISTED:
        return []
    for known in data:
        if known in text:
            text = text.replace(known, " ")
    return [word for word in _WORD.findall(text) if word not in SAME | LISTED]


def written_by_people():
    """Every text of the database, the longest first; of what is kept as JSON the values, and not their keys."""
    found = set()
    for model in apps.get_models():
        names = [f.attname for f in model._meta.concrete_fields if isinstance(f, WRITTEN)]
        for row in model._base_manager.values_list(*names) if names else ():
            found.update(" ".join(text.split()) for value in row for text in _texts(value) if len(text) > 2)
    return sorted(found, key=len, reverse=True)


def _texts(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        return [text for one in value for text in _texts(one)]
    return [value] if isinstance(value, str) else []
