"""Telling an owner's people that their approval is asked, and the office how it was answered."""

from django.utils.translation import gettext as _

from accounts.calc.notices import NoticeKind
from accounts.models import User
from accounts.services.telling import News, tell_firm, tell_owner
from core.calc.format import day, price
from planning.calc.vocabulary import Answer
from planning.models import QuoteVersion
from planning.selectors.quotes import office_of


def tell_sent(*, version: QuoteVersion, by: User) -> None:
    """Tell who reads for the owner that a quote waits for an answer. In the transaction that sends it."""
    quote = version.quote

    def text() -> str:
        said = _("{firm} asks your approval of {quote}: {total} in all, to be answered until {day}.")
        return said.format(
            firm=quote.organisation,
            quote=version,
            total=price(version.total, version.currency),
            day=day(version.valid_until),
        )

    news = News(NoticeKind.APPROVAL, quote.organisation, version, text, version.get_absolute_url(), "sent")
    tell_owner(news=news, owner=quote.owner, by=by.pk)


def tell_answered(*, version: QuoteVersion, by: User) -> None:
    """Tell who sent the quote and who made it. In the transaction of the answer; a further note tells nothing new."""
    firm, is_approved = version.quote.organisation, version.state == Answer.APPROVED
    occasion = "approved" if is_approved else "declined"

    def text() -> str:
        said = _("{owner} approved {quote}: {total} in all.")
        if not is_approved:
            said = _("{owner} declined {quote}: {total} in all.")
        total = price(version.total, version.currency)
        return said.format(owner=version.quote.owner, quote=version, total=total)

    news = News(NoticeKind.ANSWER, firm, version, text, version.get_absolute_url(), occasion)
    tell_firm(news=news, to=[person.pk for person in office_of(version)], by=by.pk)
