"""Two people, or two workers, at the same moment, on a real PostgreSQL.

Where a lock, a claim or a look decides, a control takes it away and shows that the fault then appears.
"""

import threading
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.timezone import localdate, now

from accounts.calc.roles import Role
from accounts.models import Membership
from accounts.services import people
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services import jobs, records
from core.services.jobs import Outcome
from core.services.records import replace_record
from maintenance.models import CleaningEvent, Forecast, PortfolioFit, Recommendation
from maintenance.services import fits, forecasts
from planning.models import VisitTask
from planning.services import visits
from qa.models import InfiltrationTest, TestRound
from qa.services import rounds
from tests.concurrency.patience import PATIENCE_S
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    MembershipFactory,
    OrganisationFactory,
    RoundFactory,
    SurfaceFactory,
    UserFactory,
)

pytestmark = [pytest.mark.postgres, pytest.mark.usefixtures("on_postgres")]


def work_counted(monkeypatch, at_once):
    worked, think_late = [], at_once.held_open(forecasts.compute_forecast)

    def counted(known):
        worked.append(threading.get_ident())
        return think_late(known)

    monkeypatch.setattr(forecasts, "compute_forecast", counted)
    return worked


def both_see_it_free(monkeypatch):
    """Hold both workers back between their look at the job and their claim."""
    looked, take = threading.Barrier(2, timeout=PATIENCE_S), jobs.take

    def look_and_wait(job):
        looked.wait()
        return take(job)

    monkeypatch.setattr(jobs, "take", look_and_wait)


def test_of_two_workers_with_the_same_forecast_one_works(at_once, monkeypatch):
    surface = SurfaceFactory()
    worked = work_counted(monkeypatch, at_once)
    both_see_it_free(monkeypatch)

    outcomes = at_once(*[lambda: forecasts.refresh(surface.pk)] * 2)

    assert sorted(outcomes) == [Outcome.DONE, Outcome.HELD]
    assert len(worked) == 1
    assert Forecast.objects.filter(surface=surface, made_on__isnull=False).count() == 1


def test_without_the_claim_both_workers_work(at_once, monkeypatch):
    surface = SurfaceFactory()
    worked = work_counted(monkeypatch, at_once)
    Forecast.objects.create(surface=surface, state="running")
    monkeypatch.setattr(jobs, "take", lambda job: jobs.Claim(job, job.claim_number, 1))

    at_once(*[lambda: forecasts.refresh(surface.pk)] * 2)

    assert len(worked) == 2


def take_through_a_subquery(job):
    """A claim as it must not be written: its condition is read in a subquery, before the row is locked."""
    waiting = Forecast.objects.filter(state="waiting").values("pk")
    won = Forecast.objects.filter(pk=job.pk, pk__in=waiting).update(state="running")
    return jobs.Claim(job, job.claim_number, 1) if won else None


def test_a_claim_that_asked_through_a_join_could_be_won_twice(at_once, monkeypatch):
    """Why the condition of a claim reads columns of the row alone: what a subquery saw is not looked at again."""
    forecast = Forecast.objects.create(surface=SurfaceFactory())

    def in_a_long_transaction():
        with transaction.atomic():
            claim = take_through_a_subquery(forecast)
            at_once.held_open(bool)()  # the other one comes meanwhile
        return claim

    claims = at_once(in_a_long_transaction, in_a_long_transaction)

    assert None not in claims


def test_the_claim_as_it_is_written_is_won_once_even_then(at_once):
    """The control for the test above."""
    forecast = Forecast.objects.create(surface=SurfaceFactory())

    def in_a_long_transaction():
        with transaction.atomic():
            claim = jobs.take(forecast)
            at_once.held_open(bool)()  # the other one comes meanwhile
        return claim

    claims = at_once(in_a_long_transaction, in_a_long_transaction)

    assert sum(claim is not None for claim in claims) == 1


def test_two_who_ask_for_a_fit_at_once_are_given_the_same_one(at_once, monkeypatch):
    firm = OrganisationFactory()
    monkeypatch.setattr(PortfolioFit, "save", at_once.held_open(PortfolioFit.save))
    monkeypatch.setattr(jobs, "nudge", lambda fit: None)

    first, second = at_once(*[lambda: fits.request_fit(organisation=firm)] * 2)

    assert first == second
    assert PortfolioFit.objects.filter(organisation=firm).count() == 1


def test_without_the_lock_on_the_firm_two_fits_are_asked_for(at_once, monkeypatch):
    firm = OrganisationFactory()
    monkeypatch.setattr(PortfolioFit, "save", at_once.held_open(PortfolioFit.save))
    monkeypatch.setattr(jobs, "nudge", lambda fit: None)
    monkeypatch.setattr(fits, "_lock", lambda organisation: None)

    at_once(*[lambda: fits.request_fit(organisation=firm)] * 2)

    assert PortfolioFit.objects.filter(organisation=firm).count() == 2


def test_many_who_find_a_fit_outdated_at_once_ask_for_one_new_one(at_once, monkeypatch):
    firm = OrganisationFactory()
    outdated = PortfolioFit.objects.create(organisation=firm, state="done", result={}, finished_at=now())
    monkeypatch.setattr(PortfolioFit, "save", at_once.held_open(PortfolioFit.save))
    monkeypatch.setattr(jobs, "nudge", lambda fit: None)

    at_once(*[lambda: fits.replace_outdated_fit(outdated=outdated)] * 4)

    assert PortfolioFit.objects.filter(organisation=firm, state="waiting").count() == 1


def test_a_night_begun_twice_at_once_asks_for_one_fit(at_once, monkeypatch):
    surface, night = SurfaceFactory(), localdate() + timedelta(days=uuid4().int % 10_000)
    monkeypatch.setattr(PortfolioFit, "save", at_once.held_open(PortfolioFit.save))
    monkeypatch.setattr(jobs, "nudge", lambda fit: None)

    at_once(*[lambda: fits.request_nightly_fits(night)] * 2)

    assert PortfolioFit.objects.filter(organisation=surface.organisation, night=night).count() == 1


def two_admins():
    first = MembershipFactory(role=Role.ADMIN)
    return first, MembershipFactory(organisation=first.organisation, role=Role.ADMIN)


def demote(membership):
    return lambda: people.change_role(membership=membership, role=Role.VIEWER)


def admins_left(membership):
    return Membership.objects.filter(organisation=membership.organisation_id, role=Role.ADMIN).count()


def test_two_admins_who_demote_each_other_leave_one(at_once, monkeypatch):
    first, second = two_admins()
    monkeypatch.setattr(Membership, "full_clean", at_once.held_open(Membership.full_clean))

    outcomes = at_once(demote(first), demote(second))

    assert sum(isinstance(outcome, NotAllowedNowError) for outcome in outcomes) == 1
    assert admins_left(first) == 1


def test_without_the_lock_on_the_firm_no_admin_is_left(at_once, monkeypatch):
    first, second = two_admins()
    monkeypatch.setattr(Membership, "full_clean", at_once.held_open(Membership.full_clean))
    monkeypatch.setattr("django.db.models.query.QuerySet.select_for_update", lambda rows, **_: rows)

    at_once(demote(first), demote(second))

    assert admins_left(first) == 0


def test_two_admins_who_give_one_person_two_roles_at_once_are_told_of_each_other(at_once, monkeypatch):
    first, _ = two_admins()
    other = MembershipFactory(organisation=first.organisation, role=Role.VIEWER)
    monkeypatch.setattr(Membership, "full_clean", at_once.held_open(Membership.full_clean))

    def give(role):
        membership = Membership.objects.get(pk=other.pk)
        return lambda: people.change_role(membership=membership, role=role)

    outcomes = at_once(give(Role.TECHNICIAN), give(Role.COORDINATOR))

    assert sum(isinstance(outcome, NotAllowedNowError) for outcome in outcomes) == 1


def sent_twice(monkeypatch):
    """Two sendings of one round, each of which has looked for the other before either is stored."""
    surface, device_id = SurfaceFactory(), uuid4()
    looked, look = threading.Barrier(2, timeout=PATIENCE_S), rounds.find_by_device_id

    def look_and_wait(fact, **within):
        found = look(fact, **within)
        looked.wait()
        return found

    monkeypatch.setattr(rounds, "find_by_device_id", look_and_wait)

    def send():
        round_ = TestRound(surface=surface, tested_on=localdate() - timedelta(days=3), device_id=device_id)
        return rounds.record_round(round_=round_, by=UserFactory())

    return send, surface


def test_a_device_that_sends_twice_at_once_is_answered_twice_and_stored_once(at_once, monkeypatch):
    send, surface = sent_twice(monkeypatch)

    first, second = at_once(send, send)

    assert first == second == TestRound.objects.get(surface=surface)


def test_without_the_second_look_one_sending_fails(at_once, monkeypatch):
    send, surface = sent_twice(monkeypatch)

    def store_only(fact, **_):
        records.validate_and_save(fact)
        return fact

    monkeypatch.setattr(rounds, "save_idempotent", store_only)

    outcomes = at_once(send, send)

    assert sum(isinstance(outcome, IntegrityError | ValidationError) for outcome in outcomes) == 1
    assert TestRound.objects.filter(surface=surface).count() == 1


def test_two_corrections_at_once_replace_a_record_once(at_once):
    event = CleaningFactory()

    def correct():
        new = CleaningEvent(
            surface=event.surface, cleaned_on=event.cleaned_on, method="broom", currency="EUR"
        )
        old = CleaningEvent.objects.get(pk=event.pk)
        return replace_record(old=old, new=new, by=UserFactory(), reason="It was the broom.")

    outcomes = at_once(correct, correct)

    assert sum(isinstance(outcome, AlreadyDoneError) for outcome in outcomes) == 1
    assert CleaningEvent.objects.filter(replaces=event).count() == 1


def test_two_coordinators_plan_the_same_advice_once(at_once):
    surface, today = SurfaceFactory(), localdate()
    row = Recommendation.objects.create(
        surface=surface, action="test", due_on=today, earliest_on=today, currency="EUR", grounds=BECAUSE
    )

    def plan():
        crew = CrewFactory(organisation=surface.organisation)
        return visits.plan(recommendation=row, by=UserFactory(), visit_on=today, crew=crew)

    outcomes = at_once(plan, plan)

    assert sum(isinstance(outcome, AlreadyDoneError) for outcome in outcomes) == 1
    assert VisitTask.objects.filter(surface=surface).count() == 1


def test_two_tests_at_one_spot_at_once_are_numbered_one_and_two(at_once, monkeypatch):
    round_ = RoundFactory()
    monkeypatch.setattr(rounds, "evaluate", at_once.held_open(rounds.evaluate))

    def record():
        test = InfiltrationTest(
            round=round_, spot="gate", prewet_time_s=45.0, test_mass=3.6, ring_diameter=300.0, elapsed_s=150.0
        )
        rounds.record_test(test=test, by=UserFactory())

    at_once(record, record)

    assert sorted(round_.tests.values_list("sequence", flat=True)) == [1, 2]
