"""The daily mail: to whom and when, once whatever dies, what it says, and how it is ended."""

from datetime import UTC, datetime, timedelta
from smtplib import SMTPException, SMTPServerDisconnected

import pytest
import time_machine
from django.core import mail
from django.utils.timezone import now

from accounts.calc.notices import KEPT_DAYS, VISITS_KEPT_DAYS, NoticeKind, Way
from accounts.calc.roles import Role
from accounts.models import DigestMail, Membership, Notice
from accounts.presentation.daily_mail import MOST_LINES
from accounts.selectors.notices import digest_of
from accounts.services import digests, notice_choices, people, telling
from accounts.services.telling import News
from core.calc.jobs import JobState
from core.services import batches, jobs
from core.services.mail import MOST_FAILURES
from tests.factories import MembershipFactory

LABEL = DigestMail._meta.label
EVENING = datetime(2026, 3, 27, 18, 0, tzinfo=UTC)
MORNING = datetime(2026, 3, 28, 6, 0, tzinfo=UTC)  # seven in Berlin, in winter


@pytest.fixture(autouse=True)
def clock(firm):
    """It is evening, and the office lies in Berlin."""
    firm.organisation.time_zone = "Europe/Berlin"
    firm.organisation.save()
    with time_machine.travel(EVENING, tick=False) as traveller:
        yield traveller


def tell(firm, text="The yard is below its limit.", to=None, kind=NoticeKind.LIMIT):
    to = [firm.coordinator.pk] if to is None else to
    news = News(kind, firm.organisation, firm.surface, text, firm.surface.get_absolute_url(), text[:100])
    telling.tell_firm(news=news, to=to)


def send(clock, at):
    """Ask at a moment and do all that is to be done; returns the mails of this time."""
    before = len(mail.outbox)
    clock.move_to(at)
    digests.ask_for_digests(now())
    while batches.run_batch(LABEL):
        pass
    return mail.outbox[before:]


def test_what_is_new_goes_out_at_the_hour_of_the_office_and_once(firm, clock):
    tell(firm)

    assert send(clock, MORNING - timedelta(minutes=1)) == []
    (sent,) = send(clock, MORNING)
    assert sent.to == [firm.coordinator.email]
    assert "The yard is below its limit." in sent.body
    assert send(clock, MORNING + timedelta(minutes=10)) == []
    assert send(clock, MORNING + timedelta(days=1)) == []  # nothing is new


def test_what_comes_later_in_the_day_waits_for_the_next_morning(firm, clock):
    clock.move_to(MORNING + timedelta(hours=2))
    tell(firm)

    assert send(clock, MORNING + timedelta(hours=3)) == []
    assert len(send(clock, MORNING + timedelta(days=1))) == 1


def test_the_morning_after_the_clocks_go_forward_comes_an_hour_sooner(firm, clock):
    """On 29 March 2026 they do in Berlin."""
    clock.move_to(MORNING + timedelta(hours=2))
    tell(firm)
    sunday = datetime(2026, 3, 29, 5, 0, tzinfo=UTC)

    assert send(clock, sunday - timedelta(minutes=1)) == []
    assert len(send(clock, sunday)) == 1


def test_an_hour_of_ones_own_is_kept(firm, clock):
    notice_choices.choose(
        user=firm.coordinator, organisation=firm.organisation, mail_on=True, mail_hour=21, ways={}
    )
    tell(firm)

    assert len(send(clock, EVENING + timedelta(hours=2))) == 1  # 21:00 in Berlin


def test_a_server_that_slept_through_the_hour_sends_when_it_is_back(firm, clock):
    tell(firm)

    assert len(send(clock, MORNING + timedelta(hours=9))) == 1


def test_nothing_that_was_read_meanwhile_is_mailed(firm, clock):
    tell(firm)
    Notice.objects.update(read_at=now())

    assert send(clock, MORNING) == []


def test_what_is_read_between_asking_and_sending_is_left_out(firm, clock):
    tell(firm)
    clock.move_to(MORNING)
    digests.ask_for_digests(now())
    Notice.objects.update(read_at=now())

    assert send(clock, MORNING) == []
    assert DigestMail.objects.get().state == JobState.DONE


def test_one_mail_a_person_and_firm_holds_all_that_is_new(firm, clock):
    other = firm.outsider.memberships.get().organisation
    other.time_zone = firm.organisation.time_zone
    other.save()
    MembershipFactory(organisation=other, user=firm.coordinator, role=Role.ADMIN)
    for text in ("First of all.", "Second of all."):
        tell(firm, text)
    telling.tell_firm(news=News(NoticeKind.LIMIT, other, firm.surface, "Elsewhere.", "/x/", ""))

    bodies = [one.body for one in send(clock, MORNING) if one.to == [firm.coordinator.email]]

    assert sorted("First" in body and "Second" in body for body in bodies) == [False, True]
    assert sorted("Elsewhere" in body for body in bodies) == [False, True]


def test_links_are_whole_addresses_and_the_sentence_stands_with_its_own(firm, clock, settings):
    settings.ADDRESS = "https://care.example"
    tell(firm)

    (sent,) = send(clock, MORNING)

    assert f"https://care.example/told/{Notice.objects.get().pk}/" in sent.body
    assert "https://care.example/told/choose/" in sent.body


def test_a_mail_program_can_end_it_by_its_headers(firm, clock):
    tell(firm)

    (sent,) = send(clock, MORNING)

    assert sent.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    link = sent.extra_headers["List-Unsubscribe"].strip("<>")
    assert link in sent.body
    assert DigestMail.objects.get().stop_hash not in sent.body


def test_very_many_are_counted_and_not_all_listed(firm, clock):
    for number in range(MOST_LINES + 3):
        tell(firm, f"Number {number} happened.")

    (sent,) = send(clock, MORNING)

    assert "3 more notices in the app." in sent.body
    assert sent.subject.startswith(f"{firm.organisation}: {MOST_LINES + 3} notices")


def test_names_that_people_typed_break_no_header(firm, clock):
    firm.organisation.name = "Firm\r\nBcc: all@else.example"
    firm.organisation.save()
    tell(firm)

    (sent,) = send(clock, MORNING)

    assert "\n" not in sent.subject
    assert sent.message()["Bcc"] is None


@pytest.mark.parametrize("end", ["member", "inactive", "stopped", "removed"])
def test_who_is_not_to_get_it_any_more_gets_none(firm, clock, end):
    tell(firm)
    clock.move_to(MORNING)
    digests.ask_for_digests(now())
    chosen = {"user": firm.coordinator, "organisation": firm.organisation, "mail_hour": 7}
    if end == "member":
        Membership.objects.filter(user=firm.coordinator).delete()
    elif end == "inactive":
        firm.coordinator.is_active = False
        firm.coordinator.save()
    elif end == "stopped":
        notice_choices.choose(mail_on=False, ways={}, **chosen)
    else:
        people.remove_member(membership=firm.coordinator.memberships.get())

    assert send(clock, MORNING) == []


def test_without_outgoing_mail_none_is_asked_for_and_the_backlog_is_a_week(firm, clock, settings):
    tell(firm, "Long ago.")
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert send(clock, MORNING) == []
    assert not DigestMail.objects.exists()

    clock.move_to(MORNING + timedelta(days=8))
    tell(firm, "Of late.")
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    (sent,) = send(clock, MORNING + timedelta(days=9))

    assert "Of late." in sent.body
    assert "Long ago." not in sent.body


def asked(firm, clock):
    tell(firm)
    clock.move_to(MORNING)
    digests.ask_for_digests(now())
    return DigestMail.objects.get()


def test_a_refused_mail_is_sent_again(firm, clock, mail_server):
    row = asked(firm, clock)
    mail_server.opening = SMTPException("450 not now")
    jobs.run(LABEL, row.pk)
    row.refresh_from_db()
    assert (row.state, row.failures, row.handed_at) == (JobState.WAITING, 1, None)
    assert "450 not now" in row.error

    mail_server.opening = None
    assert len(send(clock, row.due_at + timedelta(minutes=1))) == 1


def test_a_mail_refused_for_a_day_is_given_up_and_said_so(firm, clock, mail_server):
    row = asked(firm, clock)
    DigestMail.objects.update(failures=MOST_FAILURES - 1)
    mail_server.opening = SMTPException("450 not now")
    jobs.run(LABEL, row.pk)

    row.refresh_from_db()
    assert row.state == JobState.FAILED
    assert "stands in the app" in row.error


def test_a_lost_answer_is_not_sent_again(firm, clock, mail_server):
    row = asked(firm, clock)
    mail_server.handing = SMTPServerDisconnected("gone")
    jobs.run(LABEL, row.pk)
    mail_server.handing = None

    assert send(clock, MORNING + timedelta(days=1)) == []
    row.refresh_from_db()
    assert (row.state, row.error) == (JobState.FAILED, digests.UNKNOWN)
    assert mail_server.tried == 1


def test_a_worker_that_died_with_the_mail_in_hand_sends_no_second_one(firm, clock):
    row = asked(firm, clock)
    held = {"state": JobState.RUNNING, "claim_number": 1, "handed_at": now(), "lease_until": now()}
    DigestMail.objects.filter(pk=row.pk).update(**held)

    assert send(clock, MORNING + timedelta(minutes=5)) == []
    row.refresh_from_db()
    assert (row.state, row.error) == (JobState.FAILED, digests.UNKNOWN)


def test_a_worker_that_died_before_it_is_followed_by_one_that_sends(firm, clock):
    row = asked(firm, clock)
    DigestMail.objects.filter(pk=row.pk).update(
        state=JobState.RUNNING, claim_number=1, lease_until=now(), attempts=1
    )

    assert len(send(clock, MORNING + timedelta(minutes=5))) == 1


def test_asking_twice_asks_once(firm, clock):
    row = asked(firm, clock)
    digests.ask_for_digests(now())

    assert DigestMail.objects.get() == row
    assert Notice.objects.get().digest == row


def test_a_hundred_people_cost_as_many_queries_as_one(firm, clock, django_assert_max_num_queries):
    many = [MembershipFactory(organisation=firm.organisation, role=Role.COORDINATOR).user for _ in range(100)]
    tell(firm, to=[user.pk for user in many])
    clock.move_to(MORNING)

    with django_assert_max_num_queries(9):
        assert digests.ask_for_digests(now()) == 100

    assert DigestMail.objects.count() == 100
    assert not Notice.objects.filter(digest=None).exists()


def test_a_batch_reads_what_its_mails_tell_at_once(firm, clock, django_assert_num_queries):
    many = [MembershipFactory(organisation=firm.organisation, role=Role.COORDINATOR).user for _ in range(9)]
    tell(firm, to=[user.pk for user in many])
    clock.move_to(MORNING)
    digests.ask_for_digests(now())
    rows = list(DigestMail.objects.all())

    with django_assert_num_queries(2):
        found = digests.gather(rows)

    assert [len(found[row.pk].notices) for row in rows] == [1] * 9


def test_the_secret_of_a_mail_ends_the_mails_of_its_firm_alone(firm, clock):
    row = asked(firm, clock)
    tell(firm, "Afterwards.")

    notice_choices.stop_mails(digest=row)
    notice_choices.stop_mails(digest=row)

    assert send(clock, MORNING + timedelta(days=1)) == []
    tell(firm, "And later.")
    assert not Notice.objects.get(text="And later.").by_mail


def test_the_links_of_who_left_the_firm_lead_nowhere(firm, clock):
    tell(firm)
    (sent,) = send(clock, MORNING)
    secret = sent.extra_headers["List-Unsubscribe"].strip("<>").rstrip("/").rpartition("/")[2]
    assert digest_of(secret)

    people.remove_member(membership=firm.coordinator.memberships.get())

    assert digest_of(secret) is None


def test_what_is_older_than_anybody_looks_back_goes_and_nothing_newer(firm, clock):
    tell(firm, "Old.")
    send(clock, MORNING)
    clock.move_to(EVENING + timedelta(days=KEPT_DAYS))
    tell(firm, "New.")

    assert digests.clear_old(now()) == 0
    assert digests.clear_old(EVENING + timedelta(days=KEPT_DAYS, seconds=1)) == 1
    assert digests.clear_old(MORNING + timedelta(days=KEPT_DAYS, seconds=1)) == 0
    assert [one.text for one in Notice.objects.all()] == ["New."]
    assert not DigestMail.objects.exists()


def only_by_mail(firm, mail_on=True, in_app=False, by_mail=True):
    notice_choices.choose(
        user=firm.coordinator,
        organisation=firm.organisation,
        mail_on=mail_on,
        mail_hour=7,
        ways={NoticeKind.LIMIT: Way(in_app=in_app, by_mail=by_mail)},
    )


def test_a_way_that_is_only_by_mail_is_mailed_and_not_counted_on_pages(firm, clock):
    only_by_mail(firm)
    tell(firm)

    assert not Notice.objects.in_app().exists()
    assert len(send(clock, MORNING)) == 1
    clock.move_to(MORNING + timedelta(hours=1))
    digests.ask_for_digests(now())
    assert not Notice.objects.in_app().exists()


def test_what_was_to_come_by_mail_alone_and_failed_is_shown_in_the_app(firm, clock, mail_server):
    only_by_mail(firm)
    row = asked(firm, clock)
    mail_server.handing = SMTPServerDisconnected("gone")
    jobs.run(LABEL, row.pk)

    digests.ask_for_digests(now())

    assert Notice.objects.in_app().unread().count() == 1


def test_without_outgoing_mail_the_app_tells_what_was_to_come_by_mail_alone(firm, clock, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    only_by_mail(firm)
    tell(firm)

    digests.ask_for_digests(now())

    assert Notice.objects.in_app().unread().count() == 1


def test_what_a_mail_counts_but_does_not_list_is_shown_in_the_app(firm, clock):
    only_by_mail(firm)
    for number in range(MOST_LINES + 3):
        tell(firm, f"Number {number} happened.")

    send(clock, MORNING)

    assert Notice.objects.in_app().count() == 3


def test_ending_the_mails_by_their_link_loses_nothing_that_came_by_mail_alone(firm, clock):
    only_by_mail(firm)
    row = asked(firm, clock)

    notice_choices.stop_mails(digest=row)
    tell(firm, "And later.")

    assert send(clock, MORNING + timedelta(days=1)) == []
    assert set(Notice.objects.in_app().values_list("text", flat=True)) == {
        "And later.",
        "The yard is below its limit.",
    }


def test_a_choice_holds_for_a_mail_that_was_asked_for_and_has_not_gone_out(firm, clock):
    only_by_mail(firm)
    asked(firm, clock)

    only_by_mail(firm, in_app=True, by_mail=False)

    assert send(clock, MORNING + timedelta(minutes=1)) == []
    assert Notice.objects.in_app().count() == 1


def test_what_crews_were_told_stays_for_as_long_as_days_are_set_ahead(firm, clock):
    tell(firm, kind=NoticeKind.VISIT)
    clock.move_to(EVENING + timedelta(days=KEPT_DAYS + 1))

    assert digests.clear_old(now()) == 0
    assert Notice.objects.count() == 1
    assert not Notice.objects.in_app().exists()  # pages look back no further
    assert digests.clear_old(EVENING + timedelta(days=VISITS_KEPT_DAYS + 1)) == 1
