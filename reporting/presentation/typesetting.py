"""The compiler of papers, with its own fonts and the promise of a tagged PDF; never without."""

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

import typst

STANDARD: Literal["ua-1"] = "ua-1"  # PDF/UA-1, ISO 14289-1: readable by a screen reader
FONTS = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True)


class UnsettableTextError(Exception):
    """The compiler refused a text: it has a character without a glyph, or the compiler itself failed on it."""


def typeset(source: bytes, *, folder: Path, inputs: Mapping[str, str] | None = None) -> bytes:
    """The PDF of a source, which may read from `folder` and no other place.

    Raises UnsettableTextError where its text cannot be shown, TypstError where the source itself is wrong.
    """
    compiler = typst.Compiler(source, root=folder, font_paths=FONTS, sys_inputs=dict(inputs or {}))
    try:
        made = compiler.compile(format="pdf", pdf_standards=STANDARD)
    except typst.TypstError as error:
        if "could not be displayed" in error.message:
            raise UnsettableTextError(error.message) from error
        raise
    except BaseException as error:
        # The compiler's shaping fails on some mixtures of scripts with an exception that is no Exception, so that a
        # client's odd text would end the process that serves everybody.
        if type(error).__name__ != "PanicException":
            raise
        raise UnsettableTextError(str(error)) from error
    if not isinstance(made, bytes):
        raise TypeError(f"The compiler gives a PDF as bytes, got {type(made).__name__}.")
    return made
