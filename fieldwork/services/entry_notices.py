"""Telling the office of what a phone holds that was refused, and of what it no longer holds."""

from collections.abc import Sequence
from datetime import datetime

from django.urls import reverse

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from core.calc.format import counted
from fieldwork.models import HeldEntry, Phone

MOST_NAMED = 3


def tell_refused(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """Tell those who plan, once for all that one contact of a phone brought; its person knows by the phone."""
    _tell(phone, entries, f"refused {at.isoformat()}", "refused and wait on the phone of")


def tell_lost(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """The same of what never arrived and is on the phone no longer."""
    _tell(phone, entries, f"lost {at.isoformat()}", "no longer on, and did not arrive from, the phone of")


def _tell(phone: Phone, entries: Sequence[HeldEntry], occasion: str, became: str) -> None:
    if not entries:
        return
    are = "is" if len(entries) == 1 else "are"
    names = ", ".join(str(entry) for entry in entries[:MOST_NAMED])
    more = f" and {len(entries) - MOST_NAMED} more" if len(entries) > MOST_NAMED else ""
    text = f"{counted(len(entries), 'record')} {are} {became} {phone.person}: {names}{more}."
    news = News(NoticeKind.ENTRY, phone.organisation, phone, text, reverse("fieldwork:phone-list"), occasion)
    tell_firm(news=news, by=phone.person_id)
