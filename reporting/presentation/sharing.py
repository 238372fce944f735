"""How sendings and links stand, in words."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from core.calc.format import counted, day
from core.calc.jobs import JobState
from reporting.calc.sharing import LinkState

LOOKS = {
    LinkState.OPEN: "tag--good",
    LinkState.UNSEEN: "tag--warn",
    LinkState.EXPIRED: "",
    LinkState.REVOKED: "",
    LinkState.WITHDRAWN: "",
}


@dataclass(frozen=True, slots=True)
class Stands:
    """How something stands. look: the class that colours the word; may_again: whether it can be tried anew."""

    word: str
    said: str
    look: str
    may_again: bool = False


def sending_stands(row: Any, at: datetime) -> Stands:
    """How a sending stands. row: with its link and document joined."""
    if row.sent_at is not None:
        return Stands("sent", _when(row.sent_at), "tag--good")
    state = row.link.state_at(at)
    if state is LinkState.OPEN and row.state == JobState.FAILED and row.link.shown_to is not None:
        said = f"By {row.link.shown_to} on {_when(row.link.address_made_at)}, to be passed on by hand."
        return Stands("link taken", said, "tag--good", may_again=True)
    if state not in (LinkState.OPEN, LinkState.UNSEEN):
        return Stands("not sent", f"Its link has ended: {state.in_sentence}.", "")
    if row.state == JobState.FAILED:
        return Stands("not sent", row.error, "tag--bad", may_again=True)
    if row.error:
        return Stands("not sent yet", row.error, "tag--warn")
    return Stands("on its way", "It goes out within some minutes.", "tag--warn")


def link_stands(row: Any, at: datetime) -> Stands:
    """How a link stands. row: with its document and who revoked it joined."""
    state = row.state_at(at)
    if state is LinkState.REVOKED:
        said = f"by {row.revoked_by} on {_when(row.revoked_at)}"
    else:
        said = f"until {day(row.ends_on)}"
    return Stands(state.in_sentence, said, LOOKS[state])


def opened_words(times: int | None, last: datetime | None) -> str:
    """How often something was opened, and when last."""
    if not times or last is None:
        return "not opened yet"
    return f"opened {counted(times, 'time')}, last on {_when(last)}"


def _when(at: datetime) -> str:
    return f"{day(at.date())}, {at:%H:%M} UTC"
