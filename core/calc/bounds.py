"""Whether a number is the value itself or only a limit of it, as tests and their summaries have it."""

from core.calc.choices import TextChoice


class Bound(TextChoice):
    """The sign that stands before the number, and the word it is read as."""

    EXACT = "=", ""
    BELOW = "<", "below"
    ABOVE = ">", "above"
    UNCLEAR = "~", "about"  # a summary of values bounded on both sides
