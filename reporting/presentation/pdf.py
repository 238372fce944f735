"""From plain data to a PDF: data go in as JSON and pictures as bytes, so that no text can become code."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.translation import language
from reporting.presentation.glyphs import FAMILIES, Unprintable, plain, printable
from reporting.presentation.paper_texts import paper_texts
from reporting.presentation.typesetting import UnsettableTextError, typeset

TEMPLATES = Path(__file__).parent / "typst"
NOTED = 20  # replaced signs named on the paper; a record in another script has hundreds


@dataclass(frozen=True, slots=True)
class Paper:
    """What a paper is made of. drawings: SVG text by name, and photos: JPEG bytes by name, both without extension."""

    template: str
    data: Mapping[str, Any]
    drawings: Mapping[str, str] = field(default_factory=dict)
    photos: Mapping[str, bytes] = field(default_factory=dict)


def pdf_of(paper: Paper) -> bytes:
    """A tagged PDF (PDF/UA-1). Characters that its fonts do not have stand as a mark and are named at its end."""
    texts = {"data": dict(paper.data), "drawings": dict(paper.drawings)}
    try:
        return _pdf(paper, *printable(texts))
    except UnsettableTextError:  # a mixture that the fonts have sign by sign, but not side by side
        return _pdf(paper, *plain(texts))


def _pdf(paper: Paper, texts: Mapping[str, Any], missing: Sequence[Unprintable]) -> bytes:
    """The compiler reads from a folder of its own that holds nothing else."""
    data = texts["data"] | {
        "families": FAMILIES,
        "unprintable": _note(missing),
        "lang": language().partition("-")[0],
        "texts": paper_texts(),
    }
    with TemporaryDirectory(prefix="paper-") as name:
        folder = Path(name)
        (folder / "look.typ").write_bytes((TEMPLATES / "look.typ").read_bytes())
        (folder / "data.json").write_text(json.dumps(data), encoding="utf-8")
        for key, svg in texts["drawings"].items():
            (folder / f"{key}.svg").write_text(svg, encoding="utf-8")
        for key, photo in paper.photos.items():
            (folder / f"{key}.jpg").write_bytes(photo)
        return typeset((TEMPLATES / paper.template).read_bytes(), folder=folder)


def _note(missing: Sequence[Unprintable]) -> str:
    """What was replaced, to stand at the end of the paper; empty where nothing was."""
    if not missing:
        return ""
    count = sum(sign.times for sign in missing)
    named = [_named(sign) for sign in missing[:NOTED]]
    if len(missing) > NOTED:
        named.append(_("and {count} more").format(count=len(missing) - NOTED))
    said = ngettext(
        "{count} character of this record that the fonts of this paper do not have: {signs}.",
        "{count} characters of this record that the fonts of this paper do not have: {signs}.",
        count,
    )
    return said.format(count=count, signs=_("; ").join(named))


def _named(sign: Unprintable) -> str:
    if sign.times == 1:
        return sign.words
    return _("{sign}, {count} times").format(sign=sign.words, count=sign.times)
