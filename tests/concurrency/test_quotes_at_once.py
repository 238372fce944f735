"""Quotes at the same moment, on a real PostgreSQL: one answer counts, numbers run without gaps.

Where a lock decides, a control takes it away and shows that the fault then appears.
"""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.utils.timezone import localdate

from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.models import Recommendation
from planning.calc.vocabulary import Answer, QuoteState
from planning.models import Quote, QuoteVersion
from planning.services import quotes
from tests.factories import (
    BECAUSE,
    OwnerFactory,
    OwnerPersonFactory,
    PriceListFactory,
    QuoteLineFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)

pytestmark = [pytest.mark.postgres, pytest.mark.usefixtures("on_postgres")]


def a_sent_version():
    until = localdate() + timedelta(days=30)
    return QuoteLineFactory(version__quote__owner=OwnerFactory(), version__valid_until=until).version


def answering(version, answer):
    person = OwnerPersonFactory(owner=version.quote.owner).user
    return lambda: quotes.decide(version=version, by=person, answer=answer)


def test_of_two_people_who_answer_at_once_the_second_is_told(at_once, monkeypatch):
    version = a_sent_version()
    monkeypatch.setattr(quotes, "_refuse_closed", at_once.held_open(quotes._refuse_closed))

    outcomes = at_once(answering(version, Answer.APPROVED), answering(version, Answer.DECLINED))

    told = [outcome for outcome in outcomes if isinstance(outcome, AlreadyDoneError)]
    (kept,) = [outcome for outcome in outcomes if isinstance(outcome, QuoteVersion)]
    assert len(told) == 1
    version.refresh_from_db()
    assert version.state == kept.state


def test_without_the_lock_both_answers_are_taken(at_once, monkeypatch):
    version = a_sent_version()
    monkeypatch.setattr(
        quotes,
        "_locked",
        lambda row: QuoteVersion.objects.select_related("quote__owner", "decided_by").get(pk=row.pk),
    )
    monkeypatch.setattr(quotes, "_refuse_closed", at_once.held_open(quotes._refuse_closed))

    outcomes = at_once(answering(version, Answer.APPROVED), answering(version, Answer.DECLINED))

    assert all(isinstance(outcome, QuoteVersion) for outcome in outcomes)


def test_a_version_is_approved_or_replaced_but_never_both(at_once, monkeypatch):
    version = a_sent_version()
    until, by = version.valid_until, version.quote.made_by
    newer = quotes.change(version=version, by=by, valid_until=until, note="", lines=list(version.lines.all()))
    monkeypatch.setattr(quotes, "_refuse_closed", at_once.held_open(quotes._refuse_closed))
    monkeypatch.setattr(quotes, "_refuse_unpriced", at_once.held_open(quotes._refuse_unpriced))

    outcomes = at_once(answering(version, Answer.APPROVED), lambda: quotes.send(version=newer, by=by))

    states = set(QuoteVersion.objects.filter(quote=version.quote).values_list("version", "state"))
    refused = [outcome for outcome in outcomes if isinstance(outcome, NotAllowedNowError)]
    assert len(refused) == 1
    assert states in (
        {(1, QuoteState.APPROVED.value), (2, QuoteState.DRAFT.value)},
        {(1, QuoteState.REPLACED.value), (2, QuoteState.SENT.value)},
    )


def four_quotes(at_once):
    """Four people of one firm who quote at once."""
    owner = OwnerFactory()
    PriceListFactory(organisation=owner.organisation)
    today = localdate()
    advice = [
        Recommendation.objects.create(
            surface=SurfaceFactory(site=SiteFactory(owner=owner, organisation=owner.organisation)),
            action="test",
            due_on=today,
            earliest_on=today,
            currency="EUR",
            grounds=BECAUSE,
        )
        for _ in range(4)
    ]
    outcomes = at_once(
        *[
            lambda row=row: quotes.quote_advice(recommendations=[row], by=UserFactory(), valid_until=today)
            for row in advice
        ]
    )
    return owner, outcomes


def test_quotes_made_at_once_are_numbered_one_after_the_other(at_once):
    owner, _ = four_quotes(at_once)

    assert sorted(Quote.objects.filter(owner=owner).values_list("number", flat=True)) == [1, 2, 3, 4]


def test_without_the_lock_on_the_firm_they_meet_at_one_number(at_once, monkeypatch):
    monkeypatch.setattr(quotes, "validate_and_save", at_once.held_open(quotes.validate_and_save))
    monkeypatch.setattr("django.db.models.query.QuerySet.select_for_update", lambda rows, **_: rows)

    _, outcomes = four_quotes(at_once)

    assert any(isinstance(outcome, IntegrityError | ValidationError) for outcome in outcomes)
