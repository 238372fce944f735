"""Numbers within sentences, with the marks of the reader's language."""

from core.calc.marks import marked


def short(value: float) -> str:
    """A number to six significant digits, without trailing zeros: "0.25", "12"."""
    return marked(f"{value:g}")


def to_digits(value: float, digits: int) -> str:
    """The same to so many significant digits."""
    return marked(f"{value:.{digits}g}")
