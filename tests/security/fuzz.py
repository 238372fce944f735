"""Hostile input to every route: what is sent is drawn by hypothesis, made of what has broken programs before.

A try is one request. It must be answered without a server error, and where it was refused nothing of it may be stored.
"""

import json
from dataclasses import dataclass, replace
from time import time
from traceback import extract_tb

from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.test import Client
from hypothesis import strategies as st

from tests.permissions import API_READS, API_WRITES, TABLE
from tests.sending import as_shown, confirm, everything_stored, url_of

OK, REFUSED, FAULTS = 200, 400, 500
WEEK_S = 7 * 86_400  # no try is sent elsewhere because the person confirmed too long ago
# What has broken readers of numbers, days, ids, texts and paths.
NASTY = (
    "", " ", "0", "-1", "1e999", "-0", "NaN", "inf", "9" * 400, "1" * 5000, "0x10", "1_000", "1,5", "१२", "²",
    "2024-02-30", "0001-01-01", "9999-12-31", "10000-01-01", "2024-W01", "24:00", "25:61", "12:30:61",
    "00000000-0000-4000-8000-000000000000", "{" * 36, "None", "null", "true", "on", "__all__", "\x00", "a\x00b",
    "\ud800", "\ufeff", "\u202e", "🙂", "é" * 300, "x" * 5000, "<script>alert(1)</script>", "{{ 7*7 }}", "%s%n",
    "%(name)s", "{0.__class__}", "' OR 1=1 --", "../../etc/passwd", "//elsewhere.example", "javascript:alert(1)",
    "[" * 2000, "{}", "[]", '{"a":1}', '"', "\r\nSet-Cookie: a=b", "=1+1", "1;2;3", "0 0\n1 1", "NaN NaN\n1e999 0",
)  # fmt: skip
TEXT = st.sampled_from(NASTY) | st.text(max_size=40) | st.integers().map(str) | st.floats().map(str)
# The beginnings by which kinds of files are known, and what may follow.
BEGINNINGS = (
    b"", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"GIF89a", b"%PDF-1.7", b"PK\x03\x04", b"PK\x05\x06" + b"\0" * 18,
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"\0\0\0\x18ftypmp42", b"\x1aE\xdf\xa3", b"RIFF\0\0\0\0WEBP",
    b"name;address\n", b"Date,Depth\n2024-01-01,", b"{", b"[[", b"\xef\xbb\xbf", b"\xff\xfe", b"<svg>",
)  # fmt: skip
NAMES = (
    "a.csv",
    "a.xlsx",
    "a.xls",
    "a.ods",
    "a.zip",
    "a.json",
    "a.jpg",
    "a.mp4",
    "a.pdf",
    "a",
    "../a.csv",
    "é\x00.csv",
)
CONTENT = st.builds(lambda begin, rest: begin + rest, st.sampled_from(BEGINNINGS), st.binary(max_size=200))
FILE = st.tuples(st.sampled_from(NAMES), CONTENT)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)
# Names that address parts anywhere in the product read, beside those of each page's own form.
ASKED = ("q", "page", "sort", "export", "since", "until", "for", "next", "location", "day", "month", "week", "owner",
         "site", "surface", "crew", "kind", "ids", "chosen", "choice", "from", "to", "year", "do", "state", "method",
         "visit", "role", "cursor", "limit", "offset", "updated_since")  # fmt: skip
QUERY = st.dictionaries(st.sampled_from(ASKED) | st.text(max_size=8), TEXT, max_size=4)
BODY = st.dictionaries(
    st.sampled_from(ASKED) | st.text(max_size=12), TEXT | st.lists(TEXT, max_size=3), max_size=5
)
FILES_OF_FORMS = (
    "photos",
    "files",
    "archive",
    "sheets",
    "file",
    "videos",
    "table",
    "copy",
    "content",
    "documents",
)
ACTORS = ("admin", "coordinator", "technician", "viewer", "owner_person")
METHODS = ("get", "post", "post")  # what is sent reaches further
# Signing out would end the walk; a whole archive for each press would fill the time of the others.
LEFT_OUT = {"exchange:export-create"}
PAGES = sorted(set(TABLE) - LEFT_OUT)
API = [*API_READS, *API_WRITES]
# The page itself answers with a secret that is shown once.
SHOWN_AFTER_STORING = {
    "reporting:link-address", "planning:own-feed-make", "planning:crew-feed-make", "api:token-create",
}  # fmt: skip


@dataclass(frozen=True)
class Try:
    """One request, as it is printed where it fails."""

    route: str
    actor: str
    method: str
    query: dict
    changes: dict
    files: tuple
    body: object = None


@st.composite
def drawn(draw):
    """All of a try but its route, which comes in turn: hypothesis stays with one that it has drawn."""
    return Try(
        route="",
        actor=draw(st.sampled_from(ACTORS)),
        method=draw(st.sampled_from(METHODS)),
        query=draw(QUERY),
        changes=draw(st.dictionaries(st.integers(0, 60), TEXT, max_size=6) | BODY),
        files=tuple(draw(st.lists(st.tuples(st.sampled_from(FILES_OF_FORMS), FILE), max_size=2))),
        body=draw(JSON),
    )


def for_route(one, route):
    """A try of a route; of the API as a program sends it."""
    return replace(one, route=route, method="api" if route in API else one.method)


class Walker:
    """Sends tries as the people of one firm, each undone again, so that a try is the same whatever came before."""

    def __init__(self, firm, secret):
        self.firm, self.secret, self.shown, self.wrote = firm, secret, {}, False
        self.clients = {actor: self._let_in(getattr(firm, actor)) for actor in ACTORS}
        self.program = Client()
        self.before = everything_stored()

    def _let_in(self, person):
        client = Client()
        client.force_login(person)
        return confirm(client, time() + WEEK_S)

    def fault_of(self, one):
        """What is wrong with how a try was answered; an empty text where nothing is."""
        self.wrote = False
        cache.clear()
        with transaction.atomic():
            try:
                with connection.execute_wrapper(self._note_writing):
                    said = self._fault_in(one, self._sent(one))
            except Exception as error:
                said = f"{type(error).__name__}: {str(error)[:120]} ({_place(error)})"
            transaction.set_rollback(True)
        return said

    def _note_writing(self, execute, sql, *rest):
        self.wrote = self.wrote or sql.startswith(("INSERT", "UPDATE", "DELETE"))
        return execute(sql, *rest)

    def _fault_in(self, one, answer):
        if answer.status_code >= FAULTS:
            return f"answered with {answer.status_code}"
        refused = answer.status_code >= REFUSED or (one.method == "post" and answer.status_code == OK)
        if (
            refused
            and self.wrote
            and one.route not in SHOWN_AFTER_STORING
            and everything_stored() != self.before
        ):
            return f"{one.route} answered with {answer.status_code}, and stored something"
        return ""

    def _sent(self, one):
        if one.method == "api":
            return self._asked_by_program(one)
        client, url = self.clients[one.actor], url_of(one.route, self.firm.rows)
        if one.method == "get":
            return _read(client.get(url, _encodable(one.query)))
        return _read(client.post(url, self._form(url, one)))

    def _form(self, url, one):
        """The page's own form, some of whose fields are changed, and files in fields that take them."""
        key = (one.route, one.actor)
        if key not in self.shown:
            page = self.clients[one.actor].get(url) if TABLE[one.route][0] == "get" else None
            readable = page is not None and "html" in page.headers.get("Content-Type", "")
            self.shown[key] = as_shown(page.getvalue().decode()) if readable else {}
        form = dict(self.shown[key])
        names = sorted(form) or ["x"]
        for name, value in one.changes.items():
            form[names[name % len(names)] if isinstance(name, int) else name] = value
        files = {name: SimpleUploadedFile(_plain(called), content) for name, (called, content) in one.files}
        return _encodable(form) | files

    def _asked_by_program(self, one):
        headers = {"Authorization": f"Bearer {self.secret}"}
        if one.route in API_READS:
            address, kind, _ = API_READS[one.route]
            url = address.format(self.firm.rows[kind] if kind else "")
            return self.program.get(url, _encodable(one.query), headers=headers)
        url = f"/api/{one.route}/6f1d3c1e-0000-4000-8000-00000000000a"
        return self.program.put(url, _as_json(one.body), content_type="application/json", headers=headers)


def _read(answer):
    """An answer that is written while it is sent, read to its end."""
    if answer.streaming:
        answer.getvalue()
    return answer


def _place(error):
    """Where a fault came up: the last line of ours on the way to it."""
    ours = [frame for frame in extract_tb(error.__traceback__) if "site-packages" not in frame.filename]
    named = ours[-1]
    return f"{named.filename.rpartition('/')[2]}:{named.lineno} in {named.name}"


def _as_json(body):
    return json.dumps(body).encode("utf-8", "replace")


def _plain(text):
    return text.encode("utf-8", "replace").decode().replace("\x00", "")


def _encodable(values):
    """As a browser could send it: what is no text is sent as what the sender's machine makes of it."""
    found = {}
    for name, value in values.items():
        many = value if isinstance(value, list) else [value]
        found[_sendable(str(name))] = [_sendable(str(part)) for part in many]
    return found


def _sendable(text):
    return text.encode("utf-8", "replace").decode()
