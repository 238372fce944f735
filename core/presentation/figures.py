"""The few numbers that stand large at the top of a page."""

from dataclasses import dataclass

from django.utils.safestring import SafeString


@dataclass(frozen=True, slots=True)
class Figure:
    """One of them: what it is, the value, and how far it may be off or where it is from.

    wet: the one that the page is about. term: the word of the glossary that explains it.
    """

    label: str
    value: SafeString | str
    range: SafeString | str
    wet: bool = False
    term: str = ""
