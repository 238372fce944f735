"""How sendings and links stand, in words."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import day, moment
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


def sending_stands(row: Any, at: datetime, zone: ZoneInfo) -> Stands:
    """How a sending stands. row: with its link and document joined; zone: that times are told in."""
    if row.sent_at is not None:
        return Stands(_("sent"), moment(row.sent_at, zone), "tag--good")
    state = row.link.state_at(at)
    if state is LinkState.OPEN and row.state == JobState.FAILED and row.link.shown_to is not None:
        said = _("By {person} on {when}, to be passed on by hand.").format(
            person=row.link.shown_to, when=moment(row.link.address_made_at, zone)
        )
        return Stands(_("link taken"), said, "tag--good", may_again=True)
    if state not in (LinkState.OPEN, LinkState.UNSEEN):
        return Stands(_("not sent"), _("Its link has ended: {why}.").format(why=state.in_sentence), "")
    if row.state == JobState.FAILED:
        return Stands(_("not sent"), row.error, "tag--bad", may_again=True)
    if row.error:
        return Stands(_("not sent yet"), row.error, "tag--warn")
    return Stands(_("on its way"), _("It goes out within some minutes."), "tag--warn")


def link_stands(row: Any, at: datetime, zone: ZoneInfo) -> Stands:
    """How a link stands. row: with its document and who revoked it joined; zone: that times are told in."""
    state = row.state_at(at)
    if state is LinkState.REVOKED:
        said = _("by {person} on {when}").format(person=row.revoked_by, when=moment(row.revoked_at, zone))
    else:
        said = _("until {day}").format(day=day(row.ends_on))
    return Stands(state.in_sentence, said, LOOKS[state])


def opened_words(times: int | None, last: datetime | None, zone: ZoneInfo) -> str:
    """How often something was opened, and when last."""
    if not times or last is None:
        return _("not opened yet")
    said = ngettext("opened {count} time, last on {when}", "opened {count} times, last on {when}", times)
    return said.format(count=times, when=moment(last, zone))
