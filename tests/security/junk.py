"""What nobody means to send: values that no field should take, and bodies that no decoder should trust."""

import json
import zipfile
from dataclasses import dataclass
from functools import cache
from io import BytesIO

from hypothesis import strategies as st
from openpyxl import Workbook
from PIL import Image

HUGE = "9" * 400
TEXTS = (
    "",
    " ",
    "\x00",
    "a\x00b",
    "\ud800",
    "x\udfffy",
    "\x1b[31m\x07\x08",
    "\r\nSet-Cookie: a=b",
    "\u202eabc\u2066",
    "\ufeff",
    "\u0130\u0131ß",
    "e\u0301" * 40,
    "🙂" * 50,
    "x" * 130,
    "x" * 20_000,
    "' OR 1=1 --",
    "<script>alert(1)</script>",
    "{{ 7*7 }}{% debug %}",
    "%s%n%d{0}{a.b}",
    "=HYPERLINK(1)",
    "../../etc/passwd",
    "None",
    "null",
    "true",
    "[]",
    "[object Object]",
)
NUMBERS = (
    "0",
    "-0",
    "-1",
    "1e-320",
    "1e308",
    "1e999",
    "-1e999",
    HUGE,
    "-" + HUGE,
    "0." + "0" * 400 + "1",
    "NaN",
    "-nan",
    "sNaN",
    "Infinity",
    "-inf",
    "2147483648",
    "9223372036854775808",
    "-9223372036854775809",
    "1_000",
    "0x10",
    "1,5",
    "1.000,5",
    "٣",
    "½",
    "²",
    "१२३",
    "1 2",
    "+5",
    "5.",
    ".5",
    "1e5",
)
DAYS = (
    "2024-02-30",
    "0000-00-00",
    "0001-01-01",
    "1-1-1",
    "9999-12-31",
    "10000-01-01",
    "-2024-01-01",
    "2024-13-01",
    "31/02/2024",
    "2024-01-01T25:00:00Z",
    "2024-01-01T00:00:00+99:99",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00",
    "2024-W01-1",
    "24-1-1",
    "٢٠٢٤-٠١-٠١",
    "24:00",
    "23:59:60",
)
IDS = ("0", "-1", "00000000-0000-4000-8000-000000000000", "{}", "urn:uuid:", "f" * 32, "g" * 36, HUGE)
PLACES = ("//evil.example", "/\\evil", "javascript:alert(1)", "/" * 3000, "http://[", "/surfaces/?next=/")

junk_text = st.one_of(
    st.sampled_from(TEXTS + NUMBERS + DAYS + IDS + PLACES),
    st.text(st.characters(exclude_categories=()), max_size=12),
    st.floats().map(repr),
    st.integers().map(str),
)

# --- JSON -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Raw:
    """What stands in a JSON text as it is, whether or not it is JSON."""

    text: str


DEEP = 5_000  # fits into what the API takes, and is deeper than Python goes
RAW = (
    "NaN",
    "Infinity",
    "-Infinity",
    "1e999",
    HUGE,
    '"\\ud800"',
    '"\\u0000"',
    '"\\udc00\\ud800"',
    "null",
    "true",
    "[]",
    "{}",
    "[[]]",
    "-0",
    "0.1e-400",
    "1.0",
    '{"a":1,"a":2}',
    "[" * DEEP + "]" * DEEP,
    '{"a":' * DEEP + "1" + "}" * DEEP,
    "[" * DEEP,
    "01",
    "'x'",
    "undefined",
    "",
    '"' + "x" * 20_000 + '"',
)
junk_json = st.one_of(st.sampled_from(RAW).map(Raw), junk_text, st.integers(), st.floats(), st.none())


def written(value):
    """A value as JSON, with what is raw in it as it is; texts may hold what UTF-8 cannot."""
    if isinstance(value, Raw):
        return value.text
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(name)}:{written(inner)}" for name, inner in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(written(inner) for inner in value) + "]"
    return json.dumps(value)


@st.composite
def spoilt(draw, body):
    """A JSON object with some of its members exchanged for junk, left out, doubled, or joined by strangers."""
    names = [*body, "extra", "__proto__", "id"]
    made = dict(body)
    doubled = ""
    for name in draw(st.lists(st.sampled_from(names), max_size=3)):
        how = draw(st.sampled_from(["junk", "junk", "drop", "double", "inside"]))
        if how == "drop":
            made.pop(name, None)
        elif how == "double":
            doubled = f",{json.dumps(name)}:{written(draw(junk_json))}"
        elif how == "inside" and isinstance(made.get(name), dict):
            made[name] = Raw(draw(spoilt(made[name])))
        else:
            made[name] = draw(junk_json)
    return written(made)[:-1] + doubled + "}"


# --- files ------------------------------------------------------------------------------------------


def _picture(kind):
    made = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(made, kind)
    return made.getvalue()


def _book():
    made, book = BytesIO(), Workbook()
    for row in (["Name", "Owner"], ["Mill Street", "Harbour Homes"], [1e300, "=1+1"]):
        book.active.append(row)
    book.save(made)
    return made.getvalue()


def _zipped(name, content):
    made = BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return made.getvalue()


TABLE = "Client,Site,Surface,Area (m²),Paving,Installed,Limit [mm/h]\n{0},{1},Yard,{2},PICP,{3},250\n"
GEO = (
    '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Polygon",'
)


@cache
def whole_files():
    """Files as people send them, by the name they have."""
    table = TABLE.format("Harbour Homes", "Mill Street", "900", "2021-05-12").encode()
    return {
        "photo.jpg": _picture("JPEG"),
        "photo.png": _picture("PNG"),
        "photo.webp": _picture("WEBP"),
        "paper.pdf": b"%PDF-1.7\n1 0 obj<<>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n",
        "film.mp4": b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom\x00\x00\x00\x08moov",
        "owners.csv": table,
        "rain.csv": b"begin,end,depth\n2024-01-01 00:00,2024-01-01 01:00,1.5\n",
        "wide.csv": table.decode().encode("utf-16"),
        "book.xlsx": _book(),
        "book.ods": _zipped("content.xml", b"<office:document-content/>"),
        "archive.zip": _zipped("manifest.json", b'{"tables": {}, "files": [], "format": 1}'),
        "bomb.zip": _zipped("manifest.json", b"0" * 3_000_000),
        "slip.zip": _zipped("../../evil.csv", b"a,b\n1,2\n"),
        "plan.geojson": (GEO + '"coordinates":[[[0,0],[1e400,0],[0,NaN]]]}}]}').encode(),
        "phone.json": b'{"format": 1, "entries": [{"id": "x", "meta": {}}]}',
        "drawing.svg": b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        "laughs.xml": b'<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;">]><a>&c;</a>',
    }


FILE_NAMES = (
    "x",
    "",
    "../../x.csv",
    "a\x00b.png",
    "x" * 400 + ".csv",
    "\ud800.csv",
    "CON.xlsx",
    "ä🙂.jpg",
    ".csv",
)


@st.composite
def broken(draw, content):
    """Bytes that were cut, doubled or changed on the way; or none of it."""
    how = draw(st.sampled_from(["whole", "cut", "flip", "twice", "none", "junk"]))
    if how == "cut":
        return content[: draw(st.integers(0, len(content)))]
    if how == "flip" and content:
        at = draw(st.integers(0, len(content) - 1))
        return content[:at] + draw(st.binary(min_size=1, max_size=8)) + content[at + 1 :]
    if how == "junk":
        return draw(st.binary(max_size=60))
    return {"whole": content, "twice": content + content, "none": b""}.get(how, content)


@st.composite
def sent_tables(draw):
    """A table as an import takes it, with junk in some of its cells."""
    usual = ["Harbour Homes", "Mill Street", "900", "2021-05-12"]
    for at in draw(st.lists(st.integers(0, 3), max_size=2)):
        usual[at] = draw(junk_text).replace("\n", " ")
    return "owners.csv", TABLE.format(*usual).encode("utf-8", "surrogatepass")


@st.composite
def sent_files(draw):
    """Name and content of a file: whole or broken, under its own name or another."""
    if draw(st.integers(0, 3)) == 0:
        return draw(sent_tables())
    name, content = draw(st.sampled_from(sorted(whole_files().items())))
    if draw(st.booleans()):
        content = draw(broken(content))
    if draw(st.integers(0, 3)) == 0:
        name = draw(st.sampled_from([*FILE_NAMES, *whole_files()]))
    return name, content
