"""What a second program finds in the structure of a PDF: tags, title, headings in reading order, figures, bookmarks."""

from dataclasses import dataclass
from io import BytesIO

import pikepdf


@dataclass(frozen=True)
class Structure:
    """headings: levels in reading order; figures: the alternative text of each; bookmarks: titles in order.

    pages_tagged: whether every page keeps the order of its tags and is part of the tree.
    """

    marked: bool
    ua_part: str
    title: str
    title_shown: bool
    language: str
    headings: tuple[int, ...]
    figures: tuple[str, ...]
    bookmarks: tuple[str, ...]
    tables: int
    table_headers: int
    pages: int
    pages_tagged: bool


def structure_of(content):
    """Read it."""
    with pikepdf.open(BytesIO(content)) as pdf:
        root = pdf.Root
        elements = list(_walk(root.StructTreeRoot))
        roles = [str(element.get("/S", "")) for element in elements]
        with pdf.open_metadata() as metadata:
            part, title = metadata.get("pdfuaid:part", ""), metadata.get("dc:title", "")
        with pdf.open_outline() as outline:
            bookmarks = tuple(_titles(outline.root))
        return Structure(
            marked=bool(root.MarkInfo.Marked),
            ua_part=str(part),
            title=str(title),
            title_shown=bool(root.ViewerPreferences.DisplayDocTitle),
            language=str(root.Lang),
            headings=tuple(int(role[2:]) for role in roles if role[:2] == "/H" and role[2:].isdigit()),
            figures=tuple(str(e.get("/Alt", "")) for e in elements if str(e.get("/S", "")) == "/Figure"),
            bookmarks=bookmarks,
            tables=roles.count("/Table"),
            table_headers=roles.count("/TH"),
            pages=len(pdf.pages),
            pages_tagged=all(page.get("/Tabs") == "/S" and "/StructParents" in page for page in pdf.pages),
        )


def _walk(node):
    """The elements of the tree in reading order."""
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from _walk(kid)


def _titles(items):
    for item in items:
        yield str(item.title)
        yield from _titles(item.children)
