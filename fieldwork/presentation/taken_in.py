"""What came of each entry of a copy, in words."""

from dataclasses import dataclass

from accounts.models import User
from fieldwork.calc.answers import Answer


@dataclass(frozen=True, slots=True)
class TakenLine:
    """An entry as the page lists it. url: where its row is, empty where it was not stored.

    reasons: why it was not stored; of one that was, what is to be looked at.
    """

    title: str
    about: str
    person: User | None
    state: str
    reasons: tuple[str, ...]
    url: str
    is_bad: bool


def taken_line(title: str, about: str, person: User | None, answer: Answer) -> TakenLine:
    """Stored, there already, or refused and why."""
    state = "Was there already" if answer.was_there else "Stored" if answer.is_stored else "Refused"
    return TakenLine(
        title=title,
        about=about,
        person=person,
        state=state,
        reasons=tuple(answer.content["warnings"]) if answer.is_stored else _reasons(answer),
        url=answer.content.get("url", ""),
        is_bad=not answer.is_stored,
    )


def _reasons(answer: Answer) -> tuple[str, ...]:
    errors = answer.content.get("errors", [])
    told = tuple(f"{one['label']}: {one['text']}" if one["label"] else one["text"] for one in errors)
    return told or (answer.content["text"],)


def in_short(lines: list[TakenLine]) -> str:
    """How many were stored, were there, were refused."""
    counts = {
        state: sum(line.state == state for line in lines)
        for state in ("Stored", "Was there already", "Refused")
    }
    return (
        ", ".join(f"{state.lower()}: {count}" for state, count in counts.items() if count)
        or "the copy is empty"
    )
