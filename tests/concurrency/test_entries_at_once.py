"""An entry of a phone that arrives twice at the same moment, on a real PostgreSQL."""

from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from accounts.calc.roles import Role
from fieldwork.models import FieldEntry
from fieldwork.views import dispatch
from qa.models import TestRound
from qa.services import rounds
from tests.factories import MembershipFactory, SurfaceFactory
from tests.fieldwork.sendings import meta_of, put

pytestmark = [pytest.mark.postgres, pytest.mark.usefixtures("on_postgres")]


@pytest.fixture
def two_sendings(at_once, monkeypatch):
    """Sends one entry twice at once; gives the answers, the surface, and how often its view's service was called."""
    surface, worked, record = SurfaceFactory(), [], at_once.held_open(rounds.record_round)

    def counted(**given):
        worked.append(given)
        return record(**given)

    monkeypatch.setattr(rounds, "record_round", counted)

    def send(*days):
        person = MembershipFactory(organisation=surface.organisation, role=Role.TECHNICIAN).user
        path, entry = reverse("qa:round-create", args=[surface.pk]), uuid4()
        calls = [
            _sending(person, entry, meta_of(person, path, {"tested_on": day, "purpose": "routine"}))
            for day in days
        ]
        return SimpleNamespace(answers=at_once(*calls), surface=surface, worked=len(worked), entry=entry)

    return send


def _sending(person, entry, meta):
    client = Client(raise_request_exception=False)
    client.force_login(person)
    return lambda: put(client, entry, meta)


def test_one_stores_and_the_other_gets_its_answer(two_sendings):
    done = two_sendings("2024-07-02", "2024-07-02")

    first, second = done.answers
    assert (first.status_code, second.status_code) == (200, 200)
    assert first.json() == second.json()
    assert done.worked == 1
    assert TestRound.objects.filter(surface=done.surface).count() == 1


def test_of_two_contents_under_one_id_one_is_stored_and_the_other_is_told(two_sendings):
    done = two_sendings("2024-07-02", "2024-07-03")

    assert sorted(answer.status_code for answer in done.answers) == [200, 409]
    assert TestRound.objects.filter(surface=done.surface).count() == 1


def test_without_the_claim_both_are_led_to_the_view(two_sendings, monkeypatch):
    def not_claimed(**given):
        rest = {name: given[name] for name in ("organisation", "person", "digest")}
        meta = given["meta"]
        times = {"made_at": meta.made_at, "sent_at": meta.sent_at, "offset_s": 0.0}
        times["received_at"] = given["stamps"].received_at
        return FieldEntry(id=given["entry_id"], device=meta.device, path=meta.path, **rest, **times), True

    monkeypatch.setattr(dispatch, "claim_entry", not_claimed)

    done = two_sendings("2024-07-02", "2024-07-03")

    assert done.worked == 2
