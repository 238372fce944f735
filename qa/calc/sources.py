"""Where a figure comes from, and how sure we are of it."""

from dataclasses import dataclass
from enum import StrEnum


class Status(StrEnum):
    """How a figure came to us."""

    LOOKED_UP = "looked_up"
    FROM_MEMORY = "from_memory"
    DERIVED = "derived"
    COMMON_PRACTICE = "common_practice"
    OWN_DEFAULT = "own_default"
    ENTERED = "entered"


STATUS_WORDS = {
    Status.LOOKED_UP: "looked up",
    Status.FROM_MEMORY: "from memory: verify against the current edition",
    Status.DERIVED: "worked out",
    Status.COMMON_PRACTICE: "common practice, no source",
    Status.OWN_DEFAULT: "a default of this tool",
    Status.ENTERED: "entered by the firm",
}

STATUS_NOTES = {
    Status.LOOKED_UP: "Looked up in its source; verify against the current edition.",
    Status.FROM_MEMORY: "From memory; verify against the current edition before relying on it.",
    Status.DERIVED: "Worked out by arithmetic from the formula given.",
    Status.COMMON_PRACTICE: "Common practice, no source.",
    Status.OWN_DEFAULT: "A default of this tool, not a standard's; change it to suit.",
    Status.ENTERED: "Entered by the firm with the source it gives.",
}


@dataclass(frozen=True, slots=True)
class Source:
    """A citation with its status."""

    citation: str
    status: Status

    @property
    def note(self) -> str:
        """What the reader should know about the figure."""
        return STATUS_NOTES[self.status]

    @property
    def in_full(self) -> str:
        """Citation and status, without saying the same twice."""
        return self.note if self.note.startswith(self.citation) else f"{self.citation}. {self.note}"

    @property
    def status_words(self) -> str:
        """The status in a few words, to stand beside the figure."""
        return STATUS_WORDS[self.status]


def looked_up(citation: str) -> Source:
    """A figure read in its source."""
    return Source(citation, Status.LOOKED_UP)


def from_memory(citation: str) -> Source:
    """A figure remembered, to be verified."""
    return Source(citation, Status.FROM_MEMORY)
