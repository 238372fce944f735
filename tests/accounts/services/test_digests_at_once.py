"""Two workers that make the daily mails at the same moment: each person gets one."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.core import mail
from django.db import connection
from django.utils.timezone import now

from accounts.calc.notices import NoticeKind
from accounts.calc.roles import Role
from accounts.models import DigestMail, Notice
from accounts.services import digests, telling
from accounts.services.telling import News
from core.calc.jobs import JobState
from core.services import batches, jobs, mail_jobs
from tests.factories import MembershipFactory

pytestmark = pytest.mark.django_db(transaction=True)
PEOPLE = 30


@pytest.fixture
def waiting(firm, monkeypatch):
    """Many people with something new that was due a while ago; nothing is done but what a test does."""
    monkeypatch.setattr(jobs, "_deliver_batches", [lambda label: None])
    many = [
        MembershipFactory(organisation=firm.organisation, role=Role.COORDINATOR).user for _ in range(PEOPLE)
    ]
    news = News(NoticeKind.LIMIT, firm.organisation, firm.surface, "Below its limit.", "/surfaces/", "")
    telling.tell_firm(news=news, to=[user.pk for user in many])
    Notice.objects.update(created_at=now() - timedelta(days=2))
    return many


def at_once(work):
    """Do the same in two threads that begin together; what breaks in either is raised here."""
    gate = Barrier(2)

    def one():
        gate.wait(timeout=60)
        try:
            work()
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        for ended in [pool.submit(one) for _ in range(2)]:
            ended.result(timeout=300)


def ask_and_send():
    digests.ask_for_digests(now())
    while batches.run_batch(DigestMail._meta.label):
        pass


def test_two_workers_at_once_send_each_person_one_mail(waiting):
    at_once(ask_and_send)

    assert Counter(one.to[0] for one in mail.outbox) == dict.fromkeys([user.email for user in waiting], 1)
    assert set(DigestMail.objects.values_list("state", flat=True)) == {JobState.DONE}


def test_without_the_note_of_the_hand_over_two_that_hold_one_job_would_send_it_twice(waiting, monkeypatch):
    """The control: what keeps the mail to one is the conditional update, and it can fail."""
    digests.ask_for_digests(now())
    row = DigestMail.objects.order_by("pk").first()
    first = jobs.take(row)
    found = digests.gather([row])[row.pk]
    digests.send_digest(row, first, found)  # its end is noted, and the second holds on to what it read
    DigestMail.objects.filter(pk=row.pk).update(state=JobState.RUNNING, claim_number=first.number)
    assert len(mail.outbox) == 1

    with pytest.raises(jobs.ClaimLostError):
        digests.send_digest(row, first, found)
    assert len(mail.outbox) == 1

    monkeypatch.setattr(mail_jobs, "leaving", lambda row, claim, write: write())
    digests.send_digest(row, first, found)
    assert len(mail.outbox) == 2
