"""Calendar addresses at the same moment, on a real PostgreSQL: of two the later one holds, and neither fails."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from planning.models import CalendarFeed
from planning.services import feeds
from planning.services.feeds import MadeFeed, make_feed
from tests.factories import CrewFactory, UserFactory

pytestmark = [pytest.mark.postgres, pytest.mark.usefixtures("on_postgres")]


def two_made(at_once, monkeypatch):
    crew, by = CrewFactory(), UserFactory()
    monkeypatch.setattr(feeds, "validate_and_save", at_once.held_open(feeds.validate_and_save))
    outcomes = at_once(*[lambda: make_feed(whose=crew, by=by)] * 2)
    return crew, outcomes


def test_of_two_addresses_made_at_once_the_later_holds(at_once, monkeypatch):
    crew, outcomes = two_made(at_once, monkeypatch)

    assert all(isinstance(outcome, MadeFeed) for outcome in outcomes)
    assert CalendarFeed.objects.filter(crew=crew).count() == 1


def test_without_the_lock_the_second_fails(at_once, monkeypatch):
    monkeypatch.setattr("django.db.models.query.QuerySet.select_for_update", lambda rows, **_: rows)

    _, outcomes = two_made(at_once, monkeypatch)

    assert any(isinstance(outcome, IntegrityError | ValidationError) for outcome in outcomes)
