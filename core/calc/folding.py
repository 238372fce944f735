"""Texts as a search reads them: case, accents and punctuation make no difference."""

from itertools import pairwise
from unicodedata import combining, normalize

# Letters that are one sign in Unicode, and that people without their key write so. From common practice.
_LETTERS = str.maketrans(
    {
        "æ": "ae",
        "œ": "oe",
        "ø": "o",
        "ł": "l",
        "đ": "d",
        "ð": "d",
        "þ": "th",
        "ı": "i",
        "'": None,
        "’": None,
        "ʼ": None,
    }
)
MOST_WORDS = 8  # of a search that are looked for, each in several columns of every row; no name needs more
LONGEST_CODE = (
    8  # signs of a post code without its blank, such as SW1A 1AA; joined so that both ways are found
)


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text, folded: "Café St. Óscar-Weg 7" gives cafe, st, oscar, weg, 7.

    Compatibility forms and combining marks by Unicode's NFKD (UAX 15), case by its full case folding.
    """
    spread = normalize("NFKD", normalize("NFKD", text).casefold())
    plain = "".join(sign for sign in spread if not combining(sign)).translate(_LETTERS)
    return tuple("".join(sign if sign.isalnum() else " " for sign in plain).split())


def folded(*texts: str) -> str:
    """Texts as they are kept beside the originals: their words between blanks, so that " we" is where a word begins.

    Neighbours that may be the halves of a post code are added once more in one piece.
    """
    lines = [words_of(text) for text in texts]
    every = [word for words in lines for word in words]
    codes = [code for words in lines for code in _codes(words)]
    return f" {' '.join([*every, *codes])} " if every else ""


def _codes(words: tuple[str, ...]) -> list[str]:
    joined = [(first, first + second) for first, second in pairwise(words)]
    return [both for first, both in joined if len(both) <= LONGEST_CODE and any(c.isdigit() for c in first)]
