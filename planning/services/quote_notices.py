"""Telling an owner's people that their approval is asked, and the office how it was answered."""

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
    text = (
        f"{quote.organisation} asks your approval of {version}: {price(version.total, version.currency)} in all, "
        f"to be answered until {day(version.valid_until)}."
    )
    news = News(
        NoticeKind.APPROVAL, quote.organisation, version, text, version.get_absolute_url(), occasion="sent"
    )
    tell_owner(news=news, owner=quote.owner, by=by.pk)


def tell_answered(*, version: QuoteVersion, by: User) -> None:
    """Tell who sent the quote and who made it. In the transaction of the answer; a further note tells nothing new."""
    quote = version.quote
    done = "approved" if version.state == Answer.APPROVED else "declined"
    text = f"{quote.owner} {done} {version}: {price(version.total, version.currency)} in all."
    news = News(
        NoticeKind.ANSWER, quote.organisation, version, text, version.get_absolute_url(), occasion=done
    )
    tell_firm(news=news, to=[person.pk for person in office_of(version)], by=by.pk)
