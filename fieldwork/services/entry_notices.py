"""Telling the office of what a phone holds that was refused, and of what it no longer holds."""

from collections.abc import Callable, Sequence
from datetime import datetime

from django.urls import reverse
from django.utils.translation import ngettext

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from core.calc.format import first_named
from fieldwork.models import HeldEntry, Phone

MOST_NAMED = 3


def tell_refused(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """Tell those who plan, once for all that one contact of a phone brought; its person knows by the phone."""

    def became() -> str:
        return ngettext(
            "{count} record on the phone of {person} was refused: {names}.",
            "{count} records on the phone of {person} were refused: {names}.",
            len(entries),
        )

    _tell(phone, entries, f"refused {at.isoformat()}", became)


def tell_lost(*, phone: Phone, entries: Sequence[HeldEntry], at: datetime) -> None:
    """The same of what never arrived and is on the phone no longer."""

    def became() -> str:
        return ngettext(
            "{count} record did not arrive from the phone of {person}, and is no longer on it: {names}.",
            "{count} records did not arrive from the phone of {person}, and are no longer on it: {names}.",
            len(entries),
        )

    _tell(phone, entries, f"lost {at.isoformat()}", became)


def _tell(phone: Phone, entries: Sequence[HeldEntry], occasion: str, became: Callable[[], str]) -> None:
    if not entries:
        return

    def text() -> str:
        names = first_named([str(entry) for entry in entries], MOST_NAMED)
        return became().format(count=len(entries), person=phone.person, names=names)

    news = News(NoticeKind.ENTRY, phone.organisation, phone, text, reverse("fieldwork:phone-list"), occasion)
    tell_firm(news=news, by=phone.person_id)
