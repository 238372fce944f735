"""What came of each entry of a copy, in words."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from fieldwork.calc.answers import Answer, labelled

STORED, WAS_THERE, REFUSED = (
    gettext_noop("Stored"),
    gettext_noop("Was there already"),
    gettext_noop("Refused"),
)


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
    state = WAS_THERE if answer.was_there else STORED if answer.is_stored else REFUSED
    return TakenLine(
        title=title,
        about=about,
        person=person,
        state=_(state),
        reasons=tuple(answer.content["warnings"]) if answer.is_stored else _reasons(answer),
        url=answer.content.get("url", ""),
        is_bad=not answer.is_stored,
    )


def _reasons(answer: Answer) -> tuple[str, ...]:
    errors = answer.content.get("errors", [])
    told = tuple(labelled(one["label"], one["text"]) for one in errors)
    return told or (answer.content["text"],)


def in_short(lines: list[TakenLine]) -> str:
    """How many were stored, were there, were refused."""
    counts = {state: sum(line.state == _(state) for line in lines) for state in (STORED, WAS_THERE, REFUSED)}
    said = (
        _("{state}: {count}").format(state=_(state).lower(), count=count)
        for state, count in counts.items()
        if count
    )
    return ", ".join(said) or _("the copy is empty")
