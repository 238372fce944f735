"""Quotes in words: how they stand, who answered, their lines."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils.timezone import now

from planning.calc.vocabulary import QuoteState
from planning.presentation.quotes import answer_words, cited_answer, line_words, quote_rows
from tests.clock import TODAY
from tests.factories import QuoteLineFactory, QuoteVersionFactory, UserFactory

pytestmark = pytest.mark.django_db
ON = f"{TODAY.day}\u00a0{TODAY:%b}\u00a0{TODAY.year}"


def version(state="sent", **changes):
    made = QuoteVersionFactory(state=state, quote__number=7, **changes)
    if state in ("approved", "declined"):
        made.decided_by, made.decided_at = UserFactory(full_name="Olga Owner"), now()
        made.decided_on = TODAY
        made.save()
    return made


def days(made, on=TODAY):
    return {made.quote.organisation_id: on}


def row_of(made, on=TODAY):
    (row,) = quote_rows([made], days(made, on))
    return row.state, row.look, row.said


def test_a_quote_that_waits_says_until_when_it_can_be_answered():
    state, look, said = row_of(version(valid_until=TODAY))

    assert (state, look, said) == ("sent", "tag--warn", f"can be answered until {ON}")


def test_a_quote_that_ran_out_says_until_when_it_could_be():
    made = version(valid_until=TODAY)

    state, _, said = row_of(made, TODAY + timedelta(days=1))

    assert (state, said) == ("expired", f"could be answered until {ON}")


@pytest.mark.parametrize(("state", "look"), [("approved", "tag--good"), ("declined", "tag--bad")])
def test_an_answered_quote_says_by_whom_and_when(state, look):
    assert row_of(version(state)) == (state, look, f"{state} by Olga Owner on {ON}")


@pytest.mark.parametrize("state", ["draft", "withdrawn", "replaced"])
def test_other_quotes_say_how_they_stand_and_no_more(state):
    assert row_of(version(state)) == (QuoteState(state).label.lower(), "", "")


def test_the_total_of_a_list_is_to_the_cent():
    made = version(total=Decimal("1234.5"))

    (row,) = quote_rows([made], days(made))

    assert row.total == "1,234.50 EUR"


def test_an_answer_is_cited_with_its_quote_and_version():
    made = version("approved", version=2)

    assert cited_answer(made, TODAY) == f"approved by Olga Owner on {ON}, quote {TODAY.year}-0007 v2"


def test_a_quote_that_waits_is_cited_as_waiting():
    assert cited_answer(version(), TODAY) == f"quote {TODAY.year}-0007 v1 waits for the owner's answer"


def test_a_quote_that_ran_out_is_not_said_to_wait():
    made = version(valid_until=TODAY)

    said = cited_answer(made, TODAY + timedelta(days=1))

    assert said == f"quote {TODAY.year}-0007 v1 could be answered until {ON}"


def test_nothing_is_cited_where_nothing_was_quoted():
    assert cited_answer(None, TODAY) == ""
    assert answer_words(version()) == ""


def test_a_line_without_a_price_shows_a_dash_and_no_amount_of_nothing():
    known = QuoteLineFactory(quantity=Decimal("12.5"), unit="kg", unit_price=Decimal("0.125"))
    unknown = QuoteLineFactory(unit_price=None)

    first, second = line_words([known, unknown], "EUR", "si")

    assert (first.quantity, first.unit_price, first.amount) == ("12.5 kg", "0.125 EUR", "1.56 EUR")
    assert (second.unit_price, second.amount) == ("–", "–")


def test_a_line_in_a_currency_without_cents_is_whole():
    line = QuoteLineFactory(quantity=Decimal("12.5"), unit="hour", unit_price=Decimal(55))

    (words,) = line_words([line], "JPY", "us")

    assert (words.quantity, words.unit_price, words.amount) == ("12.5 h", "55 JPY", "688 JPY")  # 687.5


def test_only_what_was_sent_waits_and_only_what_was_not_answered_is_withdrawn():
    assert [state for state in QuoteState if state.waits] == [QuoteState.SENT]
    assert {state for state in QuoteState if state.may_be_withdrawn} == {
        QuoteState.DRAFT,
        QuoteState.SENT,
        QuoteState.EXPIRED,
    }
