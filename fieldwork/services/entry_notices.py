"""Telling the office of what a phone holds that was refused, and of what it no longer holds."""

from collections.abc import Sequence
from datetime import datetime

from django.urls import reverse

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from core.calc.format import counted, first_named
from fieldwork.models import HeldEntry, Phone

MOST_NAMED = 3


def tell_refused(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """Tell those who plan, once for all that one contact of a phone brought; its person knows by the phone."""
    _tell(phone, entries, f"refused {at.isoformat()}", "{records} on the phone of {person} {was} refused")


def tell_lost(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """The same of what never arrived and is on the phone no longer."""
    became = "{records} did not arrive from the phone of {person}, and {is_} no longer on it"
    _tell(phone, entries, f"lost {at.isoformat()}", became)


def _tell(phone: Phone, entries: Sequence[HeldEntry], occasion: str, became: str) -> None:
    if not entries:
        return
    is_one, records = len(entries) == 1, counted(len(entries), "record")
    was, is_ = ("was", "is") if is_one else ("were", "are")
    names = first_named([str(entry) for entry in entries], MOST_NAMED)
    text = f"{became.format(records=records, person=phone.person, was=was, is_=is_)}: {names}."
    news = News(NoticeKind.ENTRY, phone.organisation, phone, text, reverse("fieldwork:phone-list"), occasion)
    tell_firm(news=news, by=phone.person_id)
