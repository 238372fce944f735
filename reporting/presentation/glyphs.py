"""Which characters the fonts of a paper can show, and a visible mark for those they cannot.

A tagged PDF must show every character (ISO 14289-1, 7.21: a glyph for each), so a text with an emoji in it cannot be
set as it is. The fonts are those inside the compiler's own package, never those of the machine: the same record gives
the same paper everywhere.
"""

import json
import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reporting.presentation.typesetting import UnsettableTextError, typeset

HERE = Path(__file__).parent
FAMILIES = ("Libertinus Serif", "DejaVu Sans Mono", "New Computer Modern")
MARK = "\u25af"  # a white upright rectangle, known as the sign of a missing character
MOST_TRIED = 200  # unusual signs of one paper; who writes more is in a script that these fonts do not have

# Of next to none of these any font here has a picture; asking for each would take seconds where a record is
# written in such a script.
_SCRIPTS_WITHOUT_FONT = (
    (0x2E80, 0x2FFF),  # parts of Chinese signs
    (0x3041, 0xA4CF),  # Japanese, Chinese, Yi
    (0xAC00, 0xD7FF),  # Korean
    (0xF900, 0xFAFF),  # Chinese, for round trips with other codes
    (0x1F300, 0x1F6D0),  # emoji
    (0x1F6D2, 0x1F77F),
    (0x1F900, 0x1FAFF),
    (0x20000, 0x3FFFF),  # rare Chinese
)
_JOINERS = "\u200c\u200d"  # they shape words of Persian and Hindi
_SEEN_BY_NOBODY = ("Cf",)  # directions, soft hyphens
_LOOKS = range(0xFE00, 0xFE10)  # which of two looks a sign takes: in colour or not
_NO_CHARACTER = ("Cc", "Co", "Cn", "Cs")  # control, private, unassigned, half of a pair
_PLAIN_SCRIPTS = (
    (0x20, 0x7E),
    (0xA0, 0xAC),
    (0xAE, 0x24F),
    (0x2010, 0x2027),
    (0x202F, 0x202F),  # parts thousands
    (0x20AC, 0x20AC),
    (0x25AF, 0x25AF),
)
_KNOWN: dict[str, bool] = {}
# A run of letters that are not plain, with the plain ones between and beside them, to which an accent may belong. The
# rest of a text, and of a drawing nearly all of it, needs no look at each letter.
_USUAL = "".join(f"{re.escape(chr(first))}-{re.escape(chr(last))}" for first, last in _PLAIN_SCRIPTS)
_NOT_USUAL = re.compile(f"[^\\n\\t{_USUAL}]")
_UNUSUAL = re.compile(f"(?:[\\n\\t{_USUAL}]?[^\\n\\t{_USUAL}]+)+[\\n\\t{_USUAL}]?")


@dataclass(frozen=True, slots=True)
class Unprintable:
    """A sign that stands as a mark on the paper, in words, and how often."""

    words: str
    times: int


def printable(data: Any) -> tuple[Any, list[Unprintable]]:
    """Plain data with every sign that no font has as a mark, and what was replaced, the most frequent first."""
    tidied = _in_texts(data, tidy)
    runs = (run for text in _texts(tidied) if _NOT_USUAL.search(text) for run in _UNUSUAL.findall(text))
    missing = _without_glyph({sign for run in runs for sign in signs_of(run)})
    return _marked(tidied, lambda sign: sign not in missing)


def plain(data: Any) -> tuple[Any, list[Unprintable]]:
    """The same with nothing but Latin letters and usual signs: what any paper can show, whatever stood beside it."""
    return _marked(_in_texts(data, tidy), lambda sign: all(_is_plain(letter) for letter in sign))


def tidy(text: str) -> str:
    """Letters and accents as one where they can be, and nothing that has no look of its own."""
    return _in_runs(text.replace("\r\n", "\n"), _tidied)


def _in_runs(text: str, change: Callable[[str], str]) -> str:
    """A text with its unusual runs changed."""
    return _UNUSUAL.sub(lambda run: change(run[0]), text) if _NOT_USUAL.search(text) else text


def _tidied(text: str) -> str:
    kept = (
        letter
        for letter in unicodedata.normalize("NFC", text)
        if letter in _JOINERS
        or (unicodedata.category(letter) not in _SEEN_BY_NOBODY and ord(letter) not in _LOOKS)
    )
    return "".join(kept)


def signs_of(text: str) -> Iterator[str]:
    """What a reader takes for single characters: a letter with its accents, a picture made of several."""
    sign = ""
    for letter in text:
        belongs = unicodedata.category(letter)[0] == "M" or letter in _JOINERS or sign.endswith("\u200d")
        if sign and not belongs:
            yield sign
            sign = ""
        sign += letter
    if sign:
        yield sign


def _texts(data: Any) -> list[str]:
    found: list[str] = []

    def collect(text: str) -> str:
        found.append(text)
        return text

    _in_texts(data, collect)
    return found


def _in_texts(data: Any, change: Callable[[str], str]) -> Any:
    """Plain data with every text changed; the names of values stay."""
    if isinstance(data, str):
        return change(data)
    if isinstance(data, dict):
        return {key: _in_texts(value, change) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_in_texts(value, change) for value in data]
    return data


def _marked(data: Any, shown: Callable[[str], bool]) -> tuple[Any, list[Unprintable]]:
    counted: Counter[str] = Counter()

    def mark(text: str) -> str:
        return _in_runs(text, mark_run)

    def mark_run(text: str) -> str:
        signs = list(signs_of(text))
        counted.update(sign for sign in signs if not shown(sign) and sign not in "\n\t")
        return "".join(sign if sign in "\n\t" or shown(sign) else MARK for sign in signs)

    marked = _in_texts(data, mark)
    return marked, [Unprintable(_words(sign), times) for sign, times in counted.most_common()]


def _words(sign: str) -> str:
    """Code points with the name of the first: what a reader can look up."""
    codes = " ".join(f"U+{ord(letter):04X}" for letter in sign)
    name = unicodedata.name(sign[0], "").lower()
    return f"{codes} {name}".rstrip()


def _without_glyph(signs: Iterable[str]) -> frozenset[str]:
    unusual = [sign for sign in sorted(signs) if not all(_is_plain(letter) for letter in sign)]
    hopeless = {sign for sign in unusual if _is_hopeless(sign)}
    unknown = [sign for sign in unusual if sign not in hopeless and sign not in _KNOWN]
    _learn(unknown[:MOST_TRIED])
    return frozenset(hopeless | {sign for sign in unusual if not _KNOWN.get(sign, False)})


def _is_plain(letter: str) -> bool:
    return letter in "\n\t" or _is_in(letter, _PLAIN_SCRIPTS)


def _is_hopeless(sign: str) -> bool:
    return any(
        unicodedata.category(letter) in _NO_CHARACTER or _is_in(letter, _SCRIPTS_WITHOUT_FONT)
        for letter in sign
    )


def _is_in(letter: str, scripts: Iterable[tuple[int, int]]) -> bool:
    return any(first <= ord(letter) <= last for first, last in scripts)


def _learn(signs: Sequence[str]) -> None:
    """Ask the compiler, which alone knows its fonts: for all at once, and where that fails for each half of them."""
    if not signs:
        return
    shown = _can_show(signs)
    if shown or len(signs) == 1:
        _KNOWN.update(dict.fromkeys(signs, shown))
        return
    half = len(signs) // 2
    _learn(signs[:half])
    _learn(signs[half:])


_PROBE = b"""
#set document(title: "Probe")
#set text(lang: "en", font: json(bytes(sys.inputs.families)))
#for sign in json(bytes(sys.inputs.signs)) [#par(sign)]
"""


def _can_show(signs: Sequence[str]) -> bool:
    try:
        typeset(_PROBE, folder=HERE, inputs={"families": json.dumps(FAMILIES), "signs": json.dumps(signs)})
    except UnsettableTextError:
        return False
    return True
