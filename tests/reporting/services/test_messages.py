"""Questions and answers on a surface: stored once, told to the other side once, never erased, not by the hundred."""

from datetime import timedelta
from smtplib import SMTPException, SMTPServerDisconnected
from uuid import uuid4

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from accounts.calc.roles import Role
from core.calc.jobs import JobState
from core.errors import AlreadyDoneError, ClaimLostError, NotAllowedNowError
from core.services import jobs
from core.services.mail import MOST_FAILURES
from reporting.models import MessageMail, ThreadMessage
from reporting.services import messages
from tests.factories import OwnerFactory, OwnerPersonFactory, ThreadMessageFactory

LINK = "https://office.example/surfaces/1/messages/new/"


@pytest.fixture(autouse=True)
def queued(monkeypatch):
    """Mails wait until a test sends them."""
    monkeypatch.setattr(messages.jobs, "nudge", lambda job: None)


def write(firm, text="Does the puddle matter?", by=None, from_owner=True, device_id=None):
    message = ThreadMessage(text=text, device_id=device_id)
    by = by or (firm.owner_person if from_owner else firm.technician)
    return messages.write(message=message, surface=firm.surface, by=by, from_owner=from_owner, link=LINK)


def send(row):
    jobs.run(MessageMail._meta.label, row.pk)
    row.refresh_from_db()
    return row


def told(message):
    return {row.to for row in message.mails.all()}


def test_a_question_is_stored_with_who_wrote_it_and_without_blanks_around_it(firm):
    message = write(firm, "  Is it safe in frost?\n")

    assert (message.text, message.recorded_by, message.from_owner) == (
        "Is it safe in frost?",
        firm.owner_person,
        True,
    )


@pytest.mark.parametrize("text", ["", " \n ", "x" * 2001])
def test_nothing_and_too_much_are_refused_and_nothing_is_stored(firm, text):
    with pytest.raises(ValidationError) as refused:
        write(firm, text)

    assert "text" in refused.value.error_dict
    assert not ThreadMessage.objects.exists()


def test_the_same_sending_twice_stores_one_message_and_one_mail_for_each(firm):
    device_id = uuid4()

    first, second = write(firm, device_id=device_id), write(firm, device_id=device_id)

    assert first.pk == second.pk
    assert ThreadMessage.objects.count() == 1
    assert MessageMail.objects.count() == len(told(first))


def test_a_question_is_told_to_those_who_plan_for_the_firm_and_to_nobody_else(firm):
    assert told(write(firm)) == {firm.coordinator, firm.admin}


def test_an_answer_is_told_to_those_of_the_owner_who_asked(firm):
    OwnerPersonFactory(owner=firm.owner)
    write(firm)

    assert told(write(firm, "It does not.", from_owner=False)) == {firm.owner_person}


def test_what_the_firm_writes_first_is_told_to_all_who_read_for_the_owner(firm):
    second = OwnerPersonFactory(owner=firm.owner).user
    OwnerPersonFactory(owner=firm.owner, user__is_active=False)
    OwnerPersonFactory()

    assert told(write(firm, "We come on Monday.", from_owner=False)) == {firm.owner_person, second}


def test_the_mail_says_who_writes_what_about_which_surface_and_where_to_answer(firm):
    row = send(write(firm).mails.get(to=firm.admin))

    (sent,) = mail.outbox
    assert sent.to == [firm.admin.email]
    assert sent.subject == f"Question about {firm.surface.name}, {firm.site.name}"
    for part in (str(firm.owner_person), str(firm.owner), "Does the puddle matter?", LINK):
        assert part in sent.body
    assert row.sent_at is not None


def test_the_owner_is_told_by_the_firm_and_not_by_who_sits_there(firm):
    send(write(firm, "It does not.", from_owner=False).mails.get())

    assert str(firm.organisation) in mail.outbox[0].body
    assert str(firm.technician) not in mail.outbox[0].body


def test_a_subject_stays_on_one_line_whatever_the_surface_is_called(firm):
    type(firm.surface).objects.filter(pk=firm.surface.pk).update(name="Yard\nBcc: x@y.example")
    firm.surface.refresh_from_db()

    send(write(firm).mails.get(to=firm.admin))

    assert "\n" not in mail.outbox[0].subject


def test_a_mail_that_went_out_does_not_go_out_again(firm):
    row = send(write(firm).mails.get(to=firm.admin))

    MessageMail.objects.filter(pk=row.pk).update(state=JobState.WAITING, due_at=now())
    again = send(row)

    assert len(mail.outbox) == 1
    assert again.error == messages.UNKNOWN


def test_a_worker_that_lost_its_claim_hands_nothing_over(firm):
    row = write(firm).mails.get(to=firm.admin)
    claim = jobs.take(row)
    MessageMail.objects.filter(pk=row.pk).update(claim_number=claim.number + 1)

    with pytest.raises(ClaimLostError):
        messages.send_message_mail(row, claim)

    assert mail.outbox == []


@pytest.mark.parametrize("error", [SMTPServerDisconnected("gone"), TimeoutError("slow")])
def test_a_mail_that_may_have_gone_out_before_the_connection_broke_is_not_sent_again(
    firm, mail_server, error
):
    mail_server.handing = error

    row = send(write(firm).mails.get(to=firm.admin))

    assert (row.state, row.error, row.sent_at) == (JobState.FAILED, messages.UNKNOWN, None)
    MessageMail.objects.filter(pk=row.pk).update(state=JobState.WAITING, due_at=now())
    send(row)
    assert mail_server.tried == 1


def test_a_server_that_cannot_be_reached_is_tried_again(firm, mail_server):
    mail_server.opening = TimeoutError("slow")

    row = send(write(firm).mails.get(to=firm.admin))

    assert (row.state, row.failures, row.handed_at) == (JobState.WAITING, 1, None)


def test_what_a_mail_server_refuses_is_tried_again_and_given_up_in_words(firm, mail_server):
    row = write(firm).mails.get(to=firm.admin)

    mail_server.handing = SMTPException("mailbox full")
    row = send(row)
    assert (row.state, row.failures, row.handed_at) == (JobState.WAITING, 1, None)
    assert "mailbox full" in row.error
    assert row.due_at > now() + timedelta(minutes=4)

    MessageMail.objects.filter(pk=row.pk).update(due_at=now(), failures=MOST_FAILURES - 1)
    row = send(row)
    assert row.state == JobState.FAILED
    assert "by phone" in row.error
    assert mail.outbox == []


def test_without_a_mail_server_it_is_said(firm, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"

    row = send(write(firm).mails.get(to=firm.admin))

    assert (row.state, row.error) == (JobState.FAILED, messages.NOT_SET_UP)


def test_what_was_withdrawn_before_its_mail_went_out_is_told_to_nobody(firm):
    message = write(firm)
    messages.withdraw(message=message, by=firm.owner_person, reason="Wrong surface.")

    send(message.mails.get(to=firm.admin))

    assert mail.outbox == []


def leaves(person):
    person.memberships.all().delete()


def becomes_technician(person):
    person.memberships.update(role=Role.TECHNICIAN)


def may_not_sign_in(person):
    type(person).objects.filter(pk=person.pk).update(is_active=False)


@pytest.mark.parametrize("change", [leaves, becomes_technician, may_not_sign_in])
def test_who_plans_for_the_firm_no_longer_is_not_mailed_what_an_owner_wrote(firm, change):
    message = write(firm)
    change(firm.coordinator)

    for row in message.mails.all():
        assert send(row).state == JobState.DONE

    assert [sent.to for sent in mail.outbox] == [[firm.admin.email]]


def reads_no_more(person):
    person.owner_links.all().delete()


@pytest.mark.parametrize("change", [reads_no_more, may_not_sign_in])
def test_who_reads_for_an_owner_no_longer_is_not_mailed_the_answer(firm, change):
    stays = OwnerPersonFactory(owner=firm.owner).user
    answer = write(firm, "We come.", from_owner=False)
    change(firm.owner_person)

    for row in answer.mails.all():
        send(row)

    assert [sent.to for sent in mail.outbox] == [[stays.email]]


def test_what_was_to_go_to_all_readers_still_does_once_one_of_them_writes(firm):
    OwnerPersonFactory(owner=firm.owner)
    first = write(firm, "We come.", from_owner=False)
    write(firm, "When?")

    for row in first.mails.all():
        send(row)

    assert len(mail.outbox) == 2


def test_a_withdrawn_message_stays_with_its_text_and_reason_and_is_withdrawn_once(firm):
    message = write(firm)
    messages.withdraw(message=message, by=firm.owner_person, reason="Wrong surface.")

    stored = ThreadMessage.objects.get()
    assert (stored.text, stored.state_reason, stored.is_active) == (message.text, "Wrong surface.", False)
    with pytest.raises(AlreadyDoneError):
        messages.withdraw(message=message, by=firm.owner_person, reason="Again.")
    with pytest.raises(ValidationError):
        messages.withdraw(message=write(firm), by=firm.owner_person, reason=" ")


def test_somebody_of_an_owner_who_floods_the_office_is_told_to_wait(firm):
    ThreadMessageFactory.create_batch(
        messages.MOST_AN_HOUR, surface=firm.surface, recorded_by=firm.owner_person
    )

    with pytest.raises(NotAllowedNowError, match="phone the office"):
        write(firm)
    write(firm, "We have read them all.", from_owner=False)

    ThreadMessage.objects.update(written_at=now() - timedelta(hours=2))
    write(firm, "Another one.")


def test_a_day_has_its_own_limit(firm):
    ThreadMessageFactory.create_batch(
        messages.MOST_A_DAY,
        surface=firm.surface,
        recorded_by=firm.owner_person,
        written_at=now() - timedelta(hours=5),
    )

    with pytest.raises(NotAllowedNowError, match="day"):
        write(firm)


def waiting():
    return list(ThreadMessage.objects.waiting())


def test_the_last_word_of_an_owner_waits_until_the_firm_answers(firm):
    write(firm, "First?")
    last = write(firm, "Second?")
    assert waiting() == [last]

    write(firm, "Yes.", from_owner=False)
    assert waiting() == []

    third = write(firm, "Third?")
    assert waiting() == [third]


def test_an_answer_that_was_withdrawn_leaves_the_question_waiting(firm):
    question = write(firm)
    answer = write(firm, "Meant for somebody else.", from_owner=False)

    messages.withdraw(message=answer, by=firm.technician, reason="Wrong owner.")

    assert waiting() == [question]


def test_thanks_need_no_answer_once_somebody_says_so_and_only_while_they_wait(firm):
    thanks = write(firm, "Thank you.")

    messages.settle(message=thanks, by=firm.coordinator)

    assert waiting() == []
    assert ThreadMessage.objects.get().settled_by == firm.coordinator
    with pytest.raises(NotAllowedNowError):
        messages.settle(message=thanks, by=firm.coordinator)


def sell(firm):
    """The site goes to another owner of the firm's; returns who reads for them."""
    buyer = OwnerFactory(organisation=firm.organisation, name="the-buyer")
    firm.site.owner = buyer
    firm.site.save()
    firm.surface.refresh_from_db()
    return OwnerPersonFactory(owner=buyer).user


def test_an_answer_after_a_sale_is_told_to_the_new_owner_and_not_to_who_asked_before(firm):
    OwnerPersonFactory(owner=firm.owner)
    write(firm)
    buyer = sell(firm)
    OwnerPersonFactory(
        owner=firm.site.owner, user=firm.owner_person
    )  # who reads for both wrote for the seller alone

    answer = write(firm, "It does not.", from_owner=False)

    assert answer.owner == firm.site.owner
    assert told(answer) == {buyer, firm.owner_person}


def test_a_mail_names_the_owner_it_was_written_for_though_the_site_was_sold(firm):
    row = write(firm).mails.get(to=firm.admin)
    sell(firm)

    send(row)

    assert f"{firm.owner_person} for {firm.owner} writes" in mail.outbox[0].body


def test_what_is_written_to_the_new_owner_answers_nothing_of_the_former(firm):
    question = write(firm)
    sell(firm)

    write(firm, "Welcome.", from_owner=False)

    assert waiting() == [question]


def test_what_a_firm_wrote_cannot_be_marked_as_needing_no_answer(firm):
    with pytest.raises(NotAllowedNowError):
        messages.settle(message=write(firm, "We come.", from_owner=False), by=firm.coordinator)


def test_a_surface_that_was_removed_waits_for_nothing(firm):
    write(firm)
    type(firm.surface).objects.update(removed_on=now().date())

    assert waiting() == []
