"""The daily mail to one person of what is new at one firm."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from accounts.models import DigestMail, Notice
from core.calc.format import counted, day

MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class Letter:
    """A mail as it goes out."""

    subject: str
    text: str
    headers: dict[str, str]


def letter_of(
    digest: DigestMail, notices: Sequence[Notice], address: Callable[[str], str], stop_path: str
) -> Letter:
    """What it says. address: makes a full address of a path; stop_path: ends these mails for whoever has it.

    The headers let a mail program end them with one press (RFC 2369, 3.2, and RFC 8058, 3.1; from memory).
    """
    firm, stop = str(digest.organisation), address(stop_path)
    shown = [f"- {_plain(one.text)}\n  {address(one.get_absolute_url())}" for one in notices[:MOST_LINES]]
    more = len(notices) - len(shown)
    said = counted(len(notices), "notice")
    parts = [
        _(settings.DEMO_NOTICE) if settings.DEMO_NOTICE else "",
        _("New for you at {firm}:").format(firm=firm),
        *shown,
        _more(more) if more > 0 else "",
        _link(_("All that you were told:"), address(reverse("accounts:notice-list"))),
        _link(_("Choose what you are told, how and when:"), address(reverse("accounts:notice-choose"))),
        _link(_("No daily mail of {firm} any more, without signing in:").format(firm=firm), stop),
    ]
    return Letter(
        subject=_plain(_("{firm}: {notices}, {day}").format(firm=firm, notices=said, day=day(digest.on))),
        text="\n\n".join(filter(None, parts)) + "\n",
        headers={"List-Unsubscribe": f"<{stop}>", "List-Unsubscribe-Post": "List-Unsubscribe=One-Click"},
    )


def _link(said: str, url: str) -> str:
    return f"{said}\n{url}"


def _more(count: int) -> str:
    return ngettext("{count} more notice in the app.", "{count} more notices in the app.", count).format(
        count=count
    )


def _plain(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())
