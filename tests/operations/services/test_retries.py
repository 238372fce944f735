"""Trying a failed job again: by one conditional update, never a mail twice, told by the log."""

import logging
from datetime import timedelta

import pytest
from django.utils.timezone import now

from core.errors import AlreadyDoneError
from operations.calc.job_kinds import BY_KEY, KINDS
from operations.selectors.jobs import rows_of
from operations.services.retries import try_again
from tests.operations.jobs import give_state, one_of_each

pytestmark = pytest.mark.django_db


@pytest.fixture
def jobs(firm):
    made = one_of_each(firm)
    give_state(made, "failed", error="It failed.", attempts=2)
    return made


def again(jobs, key):
    try_again(kind=BY_KEY[key], pk=jobs[key].pk)
    jobs[key].refresh_from_db()
    return jobs[key]


@pytest.mark.parametrize("key", [kind.key for kind in KINDS])
def test_a_failed_job_waits_anew_and_its_old_holder_has_no_claim(jobs, key):
    before = jobs[key].claim_number

    row = again(jobs, key)

    assert (row.state, row.error, row.attempts, row.lease_until) == ("waiting", "", 0, None)
    assert row.claim_number == before + 1
    assert now() - row.wanted_since < timedelta(minutes=1)


@pytest.mark.parametrize("key", [kind.key for kind in KINDS if kind.is_mail])
def test_a_mail_goes_out_now_and_may_be_refused_as_often_as_a_new_one(jobs, key):
    rows_of(BY_KEY[key]).update(due_at=now() + timedelta(days=1), failures=7)

    row = again(jobs, key)

    assert row.due_at <= now()
    assert row.failures == 0


@pytest.mark.parametrize("key", [kind.key for kind in KINDS if kind.noted_handed])
def test_a_mail_that_may_have_arrived_is_not_sent_twice(jobs, key):
    rows_of(BY_KEY[key]).update(handed_at=now())

    with pytest.raises(AlreadyDoneError, match="could send a mail twice"):
        again(jobs, key)

    jobs[key].refresh_from_db()
    assert jobs[key].state == "failed"


@pytest.mark.parametrize("key", [kind.key for kind in KINDS if kind.content])
def test_a_job_whose_file_is_gone_stays_failed(jobs, key):
    rows_of(BY_KEY[key]).update(content="")

    with pytest.raises(AlreadyDoneError, match="its file is gone"):
        again(jobs, key)


@pytest.mark.parametrize("state", ["waiting", "running", "done"])
def test_what_did_not_fail_is_left_alone(jobs, state):
    rows_of(BY_KEY["plan"]).update(state=state, claim_number=5)

    with pytest.raises(AlreadyDoneError):
        again(jobs, "plan")

    jobs["plan"].refresh_from_db()
    assert (jobs["plan"].state, jobs["plan"].claim_number) == (state, 5)


def test_of_two_who_press_at_once_one_has_it_done(jobs):
    again(jobs, "fit")

    with pytest.raises(AlreadyDoneError):
        again(jobs, "fit")


def test_it_is_delivered_after_the_commit(jobs, django_capture_on_commit_callbacks, monkeypatch):
    delivered = []
    monkeypatch.setattr("core.services.jobs._deliver", [lambda *job: delivered.append(job)])
    with django_capture_on_commit_callbacks(execute=True):
        again(jobs, "plan")
        assert delivered == []

    assert delivered == [("planning.WorkPlan", str(jobs["plan"].pk))]


def test_other_jobs_of_the_kind_are_left_alone(jobs, firm):
    other = rows_of(BY_KEY["export"]).create(
        organisation=firm.organisation, made_by=firm.admin, state="failed", error="Still failed."
    )

    again(jobs, "export")

    other.refresh_from_db()
    assert (other.state, other.error, other.claim_number) == ("failed", "Still failed.", 0)


def test_a_line_of_the_log_says_what_was_tried_again_and_names_nobody(jobs, firm, caplog):
    with caplog.at_level(logging.INFO):
        again(jobs, "notice")

    (line,) = [r.getMessage() for r in caplog.records if r.name == "operations.services.retries"]
    assert line.startswith(f"planning.OwnerNotice {jobs['notice'].pk} is tried again")
    assert firm.owner.name not in line
