"""From plain data to a PDF: data go in as JSON and pictures as bytes, so that no text can become code."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from reporting.presentation.glyphs import FAMILIES, Unprintable, plain, printable
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
    data = texts["data"] | {"families": FAMILIES, "unprintable": _note(missing)}
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
    named = [f"{s.words}, {s.times} times" if s.times > 1 else s.words for s in missing[:NOTED]]
    if len(missing) > NOTED:
        named.append(f"and {len(missing) - NOTED} more")
    whole = "1 character" if count == 1 else f"{count} characters"
    return f"{whole} of this record that the fonts of this paper do not have: {'; '.join(named)}."
