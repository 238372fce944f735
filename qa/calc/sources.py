"""Where a figure comes from, and how sure we are of it."""

from dataclasses import dataclass

from core.calc.choices import TextChoice
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop


class SourceStatus(TextChoice):
    """How a figure came to us."""

    LOOKED_UP = "looked_up", "looked up"
    FROM_MEMORY = "from_memory", "from memory: verify against the current edition"
    DERIVED = "derived", "worked out"
    TRADE_GUIDANCE = "trade_guidance", "trade guidance, no document named"
    COMMON_PRACTICE = "common_practice", "common practice, no source"
    OWN_DEFAULT = "own_default", "a default of this tool"
    ENTERED = "entered", "entered by the firm"


STATUS_NOTES = {
    SourceStatus.LOOKED_UP: gettext_noop("Looked up in its source; verify against the current edition."),
    SourceStatus.FROM_MEMORY: gettext_noop(
        "From memory; verify against the current edition before relying on it."
    ),
    SourceStatus.DERIVED: gettext_noop("Worked out by arithmetic from the formula given."),
    SourceStatus.TRADE_GUIDANCE: gettext_noop(
        "Trade guidance that names no document; a client's document says common practice."
    ),
    SourceStatus.COMMON_PRACTICE: gettext_noop("Common practice, no source."),
    SourceStatus.OWN_DEFAULT: gettext_noop("A default of this tool, not a standard's; change it to suit."),
    SourceStatus.ENTERED: gettext_noop("Entered by the firm with the source it gives."),
}


@dataclass(frozen=True, slots=True)
class Source:
    """A citation, as it is written and stored, with its status."""

    citation: str
    status: SourceStatus

    @property
    def note(self) -> str:
        """What the reader should know about the figure."""
        return _(STATUS_NOTES[self.status])

    @property
    def said(self) -> str:
        """The citation in the reader's language."""
        return _(self.citation)

    @property
    def in_full(self) -> str:
        """Citation and status, without saying the same twice."""
        return self.note if self.note.startswith(self.said) else f"{self.said}. {self.note}"

    @property
    def status_words(self) -> str:
        """The status in a few words, to stand beside the figure."""
        return self.status.label


def guidance(citation: str) -> Source:
    """A figure of the trade: an article, a brief or a custom that is no document which somebody could ask for."""
    return Source(citation, SourceStatus.TRADE_GUIDANCE)


def looked_up(citation: str) -> Source:
    """A figure read in its source."""
    return Source(citation, SourceStatus.LOOKED_UP)


def from_memory(citation: str) -> Source:
    """A figure remembered, to be verified."""
    return Source(citation, SourceStatus.FROM_MEMORY)
