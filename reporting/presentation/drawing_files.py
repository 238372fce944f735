"""The drawings of a report on screen as files of their own.

A page first sends its text; a browser fetches each drawing as a reader comes near it, and asks for all of them to print
or where no script runs, but need not wait for them: what is to be printed is the PDF. Such a file stands alone, so it
brings the colours of the pages along, and follows the scheme of the page that shows it.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.contrib.staticfiles import finders

from core.calc.translation import language
from core.presentation.svg import element, size_of
from qa.presentation.section import section_size
from reporting.calc.parts import DeclinePart
from reporting.calc.snapshots import ReportedSurface
from reporting.presentation.decline_svg import decline_size, decline_svg
from reporting.presentation.pictures import plan_of, section_of

COLOURS_OF_PAGES = ("css/tokens.css", "css/section.css")
_COLOUR = re.compile(r"(--(?:chart|section)-[\w-]+):\s*([^;]+);")
_USED = re.compile(r"var\((--[\w-]+)")
_LOOK = "color-scheme:light dark;font-family:system-ui,sans-serif"


class DrawingKind(StrEnum):
    """What is drawn of a surface."""

    SECTION = "section"
    PLAN = "plan"
    DECLINE = "decline"


@dataclass(frozen=True, slots=True)
class DrawingFile:
    """Where a page finds a drawing, from its own address; its size in drawing units; what it shows in words."""

    address: str
    width: float
    height: float
    words: str


def drawing_files(surface: ReportedSurface, words: Mapping[str, Any], units: str) -> dict[str, DrawingFile]:
    """The drawings that there are of a surface, by kind. words: of the surface, as the report says them.

    None is drawn yet but the plan, whose size is known only when its words have found their places.
    """
    sized = ((kind, _size(surface, kind, units)) for kind in DrawingKind)
    return {
        kind.value: DrawingFile(_address(surface, kind, units), *size, words[f"{kind}_words"])
        for kind, size in sized
        if size
    }


def _size(surface: ReportedSurface, kind: DrawingKind, units: str) -> tuple[float, float] | None:
    if kind is DrawingKind.SECTION:
        return section_size(surface.build_up, units)
    if kind is DrawingKind.PLAN:
        plan = plan_of(surface, units).svg
        return size_of(plan) if plan else None
    decline = _decline_of(surface)
    return decline_size(decline.record, units, for_paper=False) if decline else None


def _address(surface: ReportedSurface, kind: DrawingKind, units: str) -> str:
    # What is drawn is part of the address: a browser keeps a drawing for minutes, and must not show an older one.
    drawn_from = (surface.standing.name, _content(surface, kind), units, language())
    version = sha256(repr(drawn_from).encode()).hexdigest()[:8]
    return "drawing.svg?" + urlencode({"of": surface.standing.key.hex, "as": kind.value, "v": version})


def _content(surface: ReportedSurface, kind: DrawingKind) -> object:
    """All that a drawing of this kind shows."""
    if kind is DrawingKind.SECTION:
        return surface.build_up
    if kind is DrawingKind.PLAN:
        return surface.plan, surface.spots, surface.standing.area_m2
    return _decline_of(surface)


def _decline_of(surface: ReportedSurface) -> DeclinePart | None:
    return surface.forecast.decline if surface.forecast else None


def drawing_of(surface: ReportedSurface, kind: DrawingKind, units: str) -> str:
    """A drawing as SVG text with the colours of a page; empty where there is none."""
    if kind is DrawingKind.SECTION:
        return section_of(surface.build_up, units, surface.standing.key, light=True).svg
    if kind is DrawingKind.PLAN:
        return plan_of(surface, units).svg
    decline = _decline_of(surface)
    return decline_svg(decline.record, units, for_paper=False) if decline else ""


def standing_alone(svg: str) -> str:
    """The same drawing with what it would take from a page around it."""
    used = "".join(f";{name}:{value}" for name, value in _colours_in(svg))
    head, end, rest = svg.partition(">")
    return "".join((head, end, element("style", f":root{{{_LOOK}{used}}}"), rest))


def _colours_in(svg: str) -> Iterator[tuple[str, str]]:
    known = _colours_of_pages()
    return ((name, known[name]) for name in sorted(set(_USED.findall(svg))) if name in known)


@lru_cache(maxsize=1)
def _colours_of_pages() -> dict[str, str]:
    """What the sheets of style say, by the name of a custom property."""
    sheets = (Path(str(finders.find(name))).read_text(encoding="utf-8") for name in COLOURS_OF_PAGES)
    return {name: value for sheet in sheets for name, value in _COLOUR.findall(sheet)}
