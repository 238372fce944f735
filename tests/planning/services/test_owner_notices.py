"""Telling an owner's people by mail of the days of visits: to whom, once, with what, and what is seen of failures."""

from datetime import UTC, datetime, timedelta
from smtplib import SMTPException, SMTPServerDisconnected

import pytest
from django.core import mail
from django.urls import reverse
from django.utils.timezone import now

from core.calc.format import day as day_words
from core.calc.jobs import JobState
from core.errors import MailAnswerLostError
from core.services import jobs
from core.services.mail import MOST_FAILURES
from planning.models import OwnerNotice, ToldDay, Visit
from planning.services import owner_notices, visits
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    OwnerFactory,
    OwnerPersonFactory,
    SiteFactory,
    SurfaceFactory,
)

SOON = TODAY + timedelta(days=5)
LATER = SOON + timedelta(days=2)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="crew-of-the-firm")


@pytest.fixture
def visit(firm, crew):
    visit = Visit(
        organisation=firm.organisation, crew=crew, visit_on=SOON, note="inner-note", planned_by=firm.admin
    )
    visit = visits.save_visit(visit=visit)
    visits.add_task(visit=visit, surface=firm.surface, action="test")
    return visit


def send(after=timedelta(hours=2)):
    """Have everything sent that is due by then; returns the mails of this time."""
    before = len(mail.outbox)
    OwnerNotice.objects.filter(state=JobState.WAITING).update(
        due_at=owner_notices.now() - timedelta(seconds=1)
    )
    for notice in OwnerNotice.objects.filter(state=JobState.WAITING):
        jobs.run(OwnerNotice._meta.label, notice.pk)
    return mail.outbox[before:]


def move(visit, to):
    visit.visit_on = to
    visits.save_visit(visit=visit)


def test_a_new_day_is_told_with_site_and_work_and_nothing_internal(firm, visit):
    (sent,) = send()

    assert sent.to == [firm.owner_person.email]
    assert sent.subject.startswith("Visit on ")
    assert f"{SOON.day} {SOON:%b} {SOON.year}" in sent.subject
    assert f"Test, {firm.surface.name}" in sent.body
    for secret in ("inner-note", "crew-of-the-firm"):
        assert secret not in sent.body


def test_a_mail_waits_ten_minutes_so_that_one_action_is_one_mail(firm, visit):
    visits.add_task(visit=visit, surface=firm.surface, action="inspect")
    move(visit, LATER)
    notice = OwnerNotice.objects.get()

    assert timedelta(minutes=9) < notice.due_at - owner_notices.now() <= owner_notices.SETTLES
    assert not OwnerNotice.objects.wanted().exists()
    (sent,) = send()
    assert f"New day, {LATER:%A}" in sent.body
    assert f"{SOON:%A}" not in sent.body.replace(f"{LATER:%A}", "")


def test_moving_and_cancelling_are_told_and_the_reason_is_not(firm, visit):
    send()
    move(visit, LATER)
    (moved,) = send()
    visits.cancel_visit(visit=visit, reason="inner-reason")
    (cancelled,) = send()

    assert f"Moved from {SOON:%A}" in moved.body
    assert "cancelled" in cancelled.subject
    assert "inner-reason" not in cancelled.body
    assert ToldDay.objects.get().told_on is None


def test_each_day_leads_to_itself_in_the_calendar_and_a_cancelled_one_to_none(firm, visit, settings):
    settings.ADDRESS = "https://care.example"
    (new,) = send()
    visits.cancel_visit(visit=visit, reason="Rain")
    (cancelled,) = send()

    assert (
        f"https://care.example{reverse('planning:calendar-show')}?view=day&on={SOON.isoformat()}" in new.body
    )
    assert "view=day" not in cancelled.body
    assert f"https://care.example{reverse('accounts:me')}" in new.body


def test_a_worker_that_died_with_the_mail_in_hand_sends_no_second_one_and_the_next_change_is_told(
    firm, visit
):
    OwnerNotice.objects.update(handed_at=now())

    assert send() == []
    notice = OwnerNotice.objects.get()
    assert (notice.state, notice.error) == (JobState.FAILED, owner_notices.UNKNOWN)

    move(visit, LATER)
    (sent,) = send()
    assert f"New day, {LATER:%A}" in sent.body


def test_moved_there_and_back_sends_nothing(firm, visit):
    send()
    move(visit, LATER)
    move(visit, SOON)

    assert send() == []


def test_taking_the_last_task_off_is_a_cancelled_day_for_the_owner(firm, visit):
    send()
    visits.remove_task(task=visit.tasks.get())

    (sent,) = send()

    assert "cancelled" in sent.subject


def test_nobody_gets_more_than_one_an_hour(firm, visit):
    send()
    move(visit, LATER)
    notice = OwnerNotice.objects.get()

    assert notice.due_at >= notice.sent_at + timedelta(hours=1)


def test_several_changes_are_one_mail(firm, crew):
    for days in (1, 2, 3):
        visit = visits.save_visit(
            visit=Visit(organisation=firm.organisation, crew=crew, visit_on=SOON + timedelta(days=days))
        )
        visits.add_task(visit=visit, surface=firm.surface, action="test")

    (sent,) = send()

    assert sent.subject.startswith("3 changes of visits")
    assert sent.body.count("New day") == 3


def test_every_owner_is_told_of_the_own_sites_alone(firm, visit):
    owner = OwnerFactory(organisation=firm.organisation)
    theirs = SurfaceFactory(site=SiteFactory(owner=owner, name="the-neighbour"))
    person = OwnerPersonFactory(owner=owner).user
    visits.add_task(visit=visit, surface=theirs, action="test")

    sent = {one.to[0]: one.body for one in send()}

    assert set(sent) == {firm.owner_person.email, person.email}
    assert "the-neighbour" not in sent[firm.owner_person.email]
    assert firm.site.name not in sent[person.email]


def test_who_switched_them_off_gets_none_and_the_office_reads_it(client, firm, visit):
    client.force_login(firm.owner_person)
    client.post(reverse("accounts:me"), {"full_name": "", "units": "si"})
    assert send() == []

    assert "wants no mails about days" in page(client, firm, visit)


def page(client, firm, visit):
    client.force_login(firm.coordinator)
    return client.get(visit.get_absolute_url()).content.decode()


def test_the_switch_is_shown_to_who_reads_for_an_owner_alone(client, firm):
    client.force_login(firm.owner_person)
    assert "day_mails" in client.get(reverse("accounts:me")).content.decode()

    client.force_login(firm.viewer)
    assert "day_mails" not in client.get(reverse("accounts:me")).content.decode()


def test_what_a_mail_server_refuses_is_shown_and_sent_again_once(client, firm, visit, mail_server):
    mail_server.handing = SMTPException("try later")
    assert send() == []
    mail_server.handing = None
    notice = OwnerNotice.objects.get()
    assert (notice.state, notice.failures) == (JobState.WAITING, 1)
    assert "try later" in page(client, firm, visit)

    assert len(send()) == 1
    assert "told by mail on" in page(client, firm, visit)
    assert OwnerNotice.objects.get().error == ""
    assert send() == []


def test_after_a_day_of_refusals_it_is_given_up_in_words(firm, visit, mail_server):
    mail_server.opening = OSError("no route")
    OwnerNotice.objects.update(failures=MOST_FAILURES - 1)
    send()

    notice = OwnerNotice.objects.get()
    assert notice.state == JobState.FAILED
    assert "no route" in notice.error


@pytest.mark.parametrize("error", [SMTPServerDisconnected("gone"), TimeoutError("slow")])
def test_a_mail_that_may_have_arrived_is_not_sent_again_and_the_next_change_is_told_with_it(
    client, firm, visit, mail_server, error
):
    mail_server.handing = error
    send()
    mail_server.handing = None

    assert send() == []
    assert mail_server.tried == 1
    assert OwnerNotice.objects.get().state == JobState.FAILED
    assert "may have arrived or not" in page(client, firm, visit)
    move(visit, LATER)
    (sent,) = send()
    assert f"New day, {LATER:%A}" in sent.body
    assert OwnerNotice.objects.get().error == ""


def test_what_changes_while_a_connection_breaks_waits_for_the_next(visit, monkeypatch):
    def break_off(*_, **__):
        move(visit, LATER)
        raise MailAnswerLostError("gone")

    with monkeypatch.context() as patched:
        patched.setattr(owner_notices.mail, "hand_over", break_off)
        send()

    assert OwnerNotice.objects.get().state == JobState.WAITING
    (sent,) = send()
    assert f"New day, {LATER:%A}" in sent.body


def test_without_a_mail_server_the_office_is_told_that_nobody_was(client, firm, visit, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"

    assert send() == []
    assert "no outgoing mail" in page(client, firm, visit)


def test_an_owner_for_whom_nobody_reads_is_named(client, firm, visit):
    firm.owner.people.all().delete()

    assert "nobody reads for this owner yet" in page(client, firm, visit)


def neighbour_on(firm, visit):
    """Another owner of the firm on the same visit, with one task of theirs there."""
    owner = OwnerFactory(organisation=firm.organisation)
    theirs = SurfaceFactory(site=SiteFactory(owner=owner))
    person = OwnerPersonFactory(owner=owner).user
    visits.add_task(visit=visit, surface=theirs, action="test")
    return person


def drop(visit, surface, outcome="not_done"):
    visit.tasks.filter(surface=surface).update(outcome=outcome, outcome_reason="Rain", ended_at=now())
    owner_notices.tell_readers(visit_id=visit.pk)


@pytest.mark.parametrize("status", ["scheduled", "done"])
@pytest.mark.parametrize("outcome", ["not_done", "given_up"])
def test_an_owner_of_whose_work_nothing_is_done_is_told_while_the_visit_serves_others(
    firm, visit, outcome, status
):
    neighbour_on(firm, visit)
    send()
    Visit.objects.filter(pk=visit.pk).update(status=status)

    drop(visit, firm.surface, outcome)

    (sent,) = send()
    assert sent.to == [firm.owner_person.email]
    assert "cancelled" in sent.subject


def test_an_owner_whose_work_was_done_is_told_no_cancelling(firm, visit):
    send()

    drop(visit, firm.surface, "done")
    during = send()
    Visit.objects.filter(pk=visit.pk).update(status="done")
    owner_notices.tell_readers(visit_id=visit.pk)

    assert (during, send()) == ([], [])


def test_work_that_is_not_done_is_not_announced_beside_what_is(firm, visit):
    visits.add_task(visit=visit, surface=firm.surface, action="inspect")
    visit.tasks.filter(action="inspect").update(outcome="given_up", ended_at=now())

    (sent,) = send()

    assert f"Test, {firm.surface.name}" in sent.body
    assert "Inspect" not in sent.body


def test_the_day_of_the_mail_is_that_of_the_firm(client, firm, visit):
    """At 11:00 UTC the next day has begun on Kiritimati, 14 hours ahead."""
    firm.organisation.sites.update(time_zone="Pacific/Kiritimati")
    send()
    told_at = datetime(TODAY.year, TODAY.month, TODAY.day, 11, tzinfo=UTC)
    ToldDay.objects.update(told_at=told_at)

    shown = page(client, firm, visit)

    assert f"told by mail on {day_words(TODAY + timedelta(days=1))}" in shown


def test_who_may_not_sign_in_any_more_is_mailed_nothing(client, firm, visit):
    firm.owner_person.is_active = False
    firm.owner_person.save()

    assert send() == []
    assert "nobody reads for this owner yet" in page(client, firm, visit)


def test_who_may_not_sign_in_is_not_asked_to_be_told(firm, visit):
    OwnerNotice.objects.all().delete()
    firm.owner_person.is_active = False
    firm.owner_person.save()

    move(visit, LATER)

    assert not OwnerNotice.objects.exists()


def test_what_changes_while_it_is_sent_waits_for_the_next(firm, visit, monkeypatch):
    def meanwhile(*_, **__):
        move(visit, LATER)

    with monkeypatch.context() as patched:
        patched.setattr(owner_notices.mail, "hand_over", meanwhile)
        send()

    notice = OwnerNotice.objects.get()
    assert notice.state == JobState.WAITING
    (sent,) = send()
    assert "Moved from" in sent.body
