"""What is sent to a route in one try: a question, a form, a body in parts, JSON, or bytes of no form at all."""

import json
from dataclasses import dataclass
from urllib.parse import quote_from_bytes

from django import forms
from hypothesis import strategies as st

from tests.security.junk import DAYS, IDS, NUMBERS, PLACES, broken, junk_text, sent_files, spoilt
from tests.security.targets import choices_of

URLENCODED, JSON = "application/x-www-form-urlencoded", "application/json"
BOUNDARY = "edge-of-a-part"
MULTIPART = f"multipart/form-data; boundary={BOUNDARY}"
TYPES = (
    URLENCODED,
    MULTIPART,
    JSON,
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "multipart/form-data; boundary=" + "x" * 300,
    URLENCODED + "; charset=utf-16",
    URLENCODED + "; charset=no-such",
    JSON + "; charset=latin-1",
    "text/csv",
    "application/xml",
    "",
    "\x7f;;=",
)
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "NONSENSE")
HEADERS = (
    ("HTTP_ACCEPT_LANGUAGE", "fr;q=nan,*;q=9," + "x" * 600),
    ("HTTP_ACCEPT", "q=;;/,\x7f"),
    ("HTTP_RANGE", "bytes=9-1,-,99999999999999999999-"),
    ("HTTP_IF_NONE_MATCH", 'W/"x", *, "\x7f'),
    ("HTTP_IF_MODIFIED_SINCE", "Thu, 99 Foo 99999 99:99:99"),
    ("HTTP_REFERER", "http://[::1/\x7f"),
    ("HTTP_X_REQUEST_ID", "x\x7fy" * 90),
    ("HTTP_AUTHORIZATION", "Bearer \xff\xfe"),
    ("HTTP_HX_REQUEST", "true"),
    ("HTTP_ACCEPT_ENCODING", "gzip;q=x, br, *;q=-1"),
)


@dataclass(frozen=True)
class Try:
    """One request. told: what of it is out of the ordinary, for whoever reads the fault."""

    target: object
    method: str
    query: str
    body: bytes
    kind: str
    headers: dict
    told: str


@st.composite
def tries(draw, target):
    """A request to a route."""
    query, headers, told = "", dict(target.extra), ""
    ways = _ways(target)
    way = draw(st.sampled_from(ways))
    method, body, kind = target.methods[-1], b"", ""
    if way == "ask":
        method = "GET"
    elif way == "json":
        method, body, kind, told = target.methods[-1], *draw(_json(target))
    elif way == "raw":
        method, body, kind = draw(_raw(target))
    elif way != "ask":
        method = "POST"
        body, kind, told = draw(_form(target, in_parts=way == "parts"))
    if way == "ask" or draw(st.integers(0, 5)) == 0:
        query = draw(_asked(target))
    if draw(st.integers(0, 9)) == 0:
        name, value = draw(st.sampled_from(HEADERS))
        headers[name] = value
    return Try(target, method, query, body, kind, headers, told)


def _ways(target):
    if target.body is not None:
        return ("json",) * 5 + ("raw",)
    if "GET" not in target.methods:  # a button, which has no page
        return ("form", "form", "form", "parts", "raw")
    if not target.takes_forms:
        return ("ask", "ask", "ask", "ask", "raw")
    if target.files:
        return ("parts", "parts", "parts", "form", "ask", "raw")
    return ("form",) * min(6, 1 + len(target.fields)) + ("parts", "ask", "raw")


@st.composite
def _asked(draw, target):
    names = draw(st.lists(st.sampled_from(target.asked), min_size=1, max_size=4))
    return "&".join(f"{name}={_quoted(draw(_value(target, name)))}" for name in names)


def _quoted(text):
    return quote_from_bytes(text.encode("utf-8", "surrogatepass"))


def _value(target, name):
    """Of a field that is known: what it takes, or junk of its kind; of others, any junk."""
    one = target.fields.get(name)
    if one is None:
        return st.one_of(junk_text, st.sampled_from(["1", "2", "csv", "xlsx", "-name", "2024-01-01", "all"]))
    return st.one_of(*_kinds_of_value(one), junk_text)


def _kinds_of_value(one):
    if isinstance(one, forms.ModelChoiceField):
        yield st.sampled_from(target_ids(one) or IDS)
        yield st.sampled_from(IDS)
    elif isinstance(one, forms.ChoiceField):
        yield st.sampled_from([*choices_of(one), ""])
    elif isinstance(one, forms.DateField | forms.DateTimeField | forms.TimeField):
        yield st.dates().map(str)
        yield st.sampled_from(("2024-06-03", "2023-01-01", "2025-02-28", "2024-06-03T09:00", *DAYS))
    elif isinstance(one, forms.IntegerField):
        least, most = (getattr(one, name, None) for name in ("min_value", "max_value"))
        yield st.integers(-10, 400).map(str)
        yield st.sampled_from([str(edge) for edge in (least, most) if edge is not None] or ["1"])
        yield st.sampled_from(NUMBERS)
    elif isinstance(one, forms.BooleanField):
        yield st.sampled_from(["on", "", "false", "2"])
    else:
        yield st.sampled_from(
            ["Mill Street", "new@firm.example", "0 0\n50 0\n50 20", "Europe/Berlin", *PLACES]
        )


def target_ids(one):
    """Ids that a field of rows takes: some of them, read once."""
    if not hasattr(one, "some_ids"):
        one.some_ids = [str(row.pk) for row in one.queryset[:4]]
    return one.some_ids


@st.composite
def _form(draw, target, *, in_parts):
    sent = {name: list(values) for name, values in target.good.items()}
    names = sorted({*target.fields, *sent, "extra"})
    changed = draw(st.lists(st.sampled_from(names), max_size=3, unique=True))
    for name in changed:
        many = 2 if draw(st.integers(0, 9)) == 0 else 1
        sent[name] = [draw(_value(target, name)) for _ in range(many)]
    for name in draw(st.lists(st.sampled_from(names), max_size=1)) if draw(st.integers(0, 3)) == 0 else ():
        sent.pop(name, None)
    told = json.dumps({name: [value[:60] for value in sent.get(name, [])] for name in changed})
    if not in_parts:
        return _urlencoded(sent), URLENCODED, told
    files = [(name, *draw(sent_files())) for name in target.files for _ in range(draw(st.integers(0, 2)))]
    body = _in_parts(sent, files)
    if draw(st.integers(0, 9)) == 0:
        body = draw(broken(body))
    return body, MULTIPART, told + " ".join(ascii(name)[:60] for _, name, _ in files)


def _urlencoded(sent):
    pairs = [f"{_quoted(name)}={_quoted(value)}" for name, values in sent.items() for value in values]
    return "&".join(pairs).encode()


def _in_parts(sent, files):
    made = b""
    for name, values in sent.items():
        for value in values:
            made += _part(f'name="{name}"', "", value.encode("utf-8", "surrogatepass"))
    for field, name, content in files:
        made += _part(f'name="{field}"; filename="{name}"', "Content-Type: text/csv\r\n", content)
    return made + f"--{BOUNDARY}--\r\n".encode()


def _part(named, more, content):
    head = f"--{BOUNDARY}\r\nContent-Disposition: form-data; {named}\r\n{more}\r\n"
    return head.encode("utf-8", "surrogatepass") + content + b"\r\n"


@st.composite
def _json(draw, target):
    text = draw(spoilt(target.body))
    if target.wrapped:
        files = [("photos", *draw(sent_files()))] if draw(st.integers(0, 3)) == 0 else []
        body = _in_parts({"meta": [text]}, files)
        return (draw(broken(body)) if draw(st.integers(0, 9)) == 0 else body), MULTIPART, text[:200]
    body = text.encode("utf-8", "surrogatepass")
    return (draw(broken(body)) if draw(st.integers(0, 9)) == 0 else body), JSON, text[:200]


@st.composite
def _raw(draw, target):
    usual = _urlencoded(target.good) if target.body is None else json.dumps(target.body).encode()
    body = draw(
        st.one_of(broken(usual), broken(_in_parts(target.good, [])), broken(b'{"a": [1, "\\ud800"]}'))
    )
    return draw(st.sampled_from([*METHODS, *target.methods])), body, draw(st.sampled_from(TYPES))


def shown(one):
    """A try in a line, for people."""
    sent = f" body {one.body[:160]!r}" if one.method != "GET" else ""
    return f"{one.method} {one.target.route} ?{one.query[:200]} {one.kind} {one.told}{sent}"
