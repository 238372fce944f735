"""Sending kept documents by mail: exactly once an address, tried again, never past a link that ended."""

import re
from datetime import timedelta
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPServerDisconnected
from uuid import uuid4

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.core.mail.backends.locmem import EmailBackend
from django.db import IntegrityError, transaction
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.jobs import JobState
from core.errors import AlreadyDoneError, ClaimLostError, NotAllowedNowError
from core.services import jobs
from core.services.mail import AGAIN_AFTER, MOST_FAILURES, again_after
from reporting.models import Sending, SharedLink, Snapshot
from reporting.selectors.links import link_behind, opens
from reporting.services import kept, links, sendings
from reporting.services.sendings import Mailing, Recipient
from tests.clock import TODAY
from tests.factories import CleaningFactory, SendingFactory
from tests.refusals import refused

SINCE = TODAY - timedelta(days=365)
SERVER = "https://office.example/"
NO_MAIL = "django.core.mail.backends.console.EmailBackend"


def mailing(*addresses, **changes):
    return Mailing(tuple(Recipient(one) for one in addresses or ("anna@owner.example",)), SERVER, **changes)


def send(firm, *addresses, **changes):
    return sendings.send_report(
        site=firm.site,
        audience=Audience.OWNER,
        since=SINCE,
        mailing=mailing(*addresses, **changes),
        by=firm.coordinator,
    )


def deliver():
    """Do what is due by now; returns the mails of this time."""
    before = len(mail.outbox)
    for row in Sending.objects.wanted():
        jobs.run(Sending._meta.label, row.pk)
    return mail.outbox[before:]


def secret_in(message):
    return re.search(r"https://office.example/shared/([\w-]+)/", message.body)[1]


class Refusing(EmailBackend):
    """A mail server that raises what it is told, when the connection opens or when a mail is handed over."""

    opening = handing = None

    def open(self):
        if Refusing.opening:
            raise Refusing.opening

    def send_messages(self, messages):
        if Refusing.handing:
            raise Refusing.handing
        return super().send_messages(messages)


@pytest.fixture
def server(settings, monkeypatch):
    settings.EMAIL_BACKEND = f"{__name__}.Refusing"
    monkeypatch.setattr(Refusing, "opening", None)
    monkeypatch.setattr(Refusing, "handing", None)
    return Refusing


def test_each_address_gets_one_mail_with_a_link_of_its_own_to_what_was_kept(firm):
    document = send(firm, "anna@owner.example", "ben@owner.example", message="Please read page one.")

    sent = deliver()

    assert [one.to for one in sorted(sent, key=lambda one: one.to)] == [
        ["anna@owner.example"],
        ["ben@owner.example"],
    ]
    secrets = {secret_in(one) for one in sent}
    assert len(secrets) == 2
    assert {link_behind(secret).document for secret in secrets} == {document}
    assert all("Please read page one." in one.body for one in sent)
    assert all(one.reply_to == [firm.coordinator.email] for one in sent)
    assert sent[0].subject.startswith(f"Report of {firm.site.name}, ")
    assert deliver() == []
    assert set(Sending.objects.values_list("state", flat=True)) == {JobState.DONE}


def test_the_copy_is_frozen_before_the_mail_and_stays_as_it_was_sent(firm):
    document = send(firm)
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY)

    deliver()

    assert Snapshot.objects.get().payload == document.payload
    assert Snapshot.objects.get().payload["cleanings_done"] == 0


def test_a_form_sent_twice_sends_once(firm):
    once = uuid4()

    first, second = (send(firm, device_id=once) for _ in range(2))

    assert first == second
    assert len(deliver()) == 1


def test_an_address_gets_a_document_once_whoever_sends_it_again(firm):
    document = send(firm, "anna@owner.example")

    sendings.send_document(
        document=document, mailing=mailing("anna@owner.example", "ben@owner.example"), by=firm.admin
    )

    assert sorted(one.to[0] for one in deliver()) == ["anna@owner.example", "ben@owner.example"]
    with pytest.raises(IntegrityError), transaction.atomic():
        SendingFactory(document=document, address="anna@owner.example")


def end_link(firm, row, how):
    if how == "revoked":
        links.revoke_link(link=row.link, by=firm.admin)
    else:
        SharedLink.objects.filter(pk=row.link_id).update(expires_at=now())


@pytest.mark.parametrize("how", ["revoked", "expired"])
@pytest.mark.parametrize("sent_before", [True, False])
def test_to_an_address_whose_link_ended_it_is_sent_anew_with_another_link(firm, how, sent_before):
    document = send(firm, message="First.")
    if sent_before:
        deliver()
    ended = Sending.objects.get()
    end_link(firm, ended, how)

    sendings.send_document(document=document, mailing=mailing(message="Here it is again."), by=firm.admin)

    (sent,) = deliver()
    row = Sending.objects.get()
    assert "Here it is again." in sent.body
    assert link_behind(secret_in(sent)) == row.link != ended.link
    assert opens(row.link)
    assert (row.state, row.asked_by, row.error) == (JobState.DONE, firm.admin, "")
    assert row.sent_at is not None
    assert (SharedLink.objects.get(pk=ended.link_id).revoked_at is None) == (how == "expired")


def test_a_failed_mail_is_tried_anew_by_sending_the_document_and_its_earlier_link_ends(firm):
    document = send(firm)
    Sending.objects.update(state=JobState.FAILED, error="Gone.", handed_at=now(), failures=3, attempts=2)
    old = Sending.objects.get().link

    sendings.send_document(document=document, mailing=mailing(), by=firm.admin)

    (sent,) = deliver()
    assert opens(link_behind(secret_in(sent)))
    old.refresh_from_db()
    assert old.revoked_by == firm.admin


def test_an_address_that_was_passed_on_by_hand_goes_on_opening_when_it_is_sent_anew(firm):
    document = send(firm)
    secret = links.make_address(link=Sending.objects.get().link, to=firm.coordinator)
    deliver()

    sendings.send_document(document=document, mailing=mailing(), by=firm.admin)

    assert len(deliver()) == 1
    assert opens(link_behind(secret))


def test_a_worker_at_the_mail_of_an_ended_link_loses_it_to_the_new_one(firm):
    document = send(firm)
    late = Sending.objects.get()
    claim = jobs.take(late)
    end_link(firm, late, "revoked")
    sendings.send_document(document=document, mailing=mailing(), by=firm.admin)

    with pytest.raises(ClaimLostError):
        sendings.send_one(late, claim)

    assert len(deliver()) == 1


@pytest.mark.parametrize("sent_before", [True, False])
def test_who_has_it_already_is_named_where_nobody_else_is_to_get_it(firm, sent_before):
    document = send(firm, "anna@owner.example", "ben@owner.example")
    if sent_before:
        deliver()

    with refused(ValidationError, "anna@owner.example, ben@owner.example got this", beside="addresses"):
        sendings.send_document(
            document=document, mailing=mailing("anna@owner.example", "ben@owner.example"), by=firm.admin
        )


def test_the_form_of_a_kept_document_sent_twice_sends_once_and_is_not_refused(firm):
    document = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    once = mailing(device_id=uuid4())

    for _ in range(2):
        sendings.send_document(document=document, mailing=once, by=firm.coordinator)

    assert len(deliver()) == 1


def test_the_form_sent_twice_without_a_mail_server_makes_one_link(firm, settings):
    settings.EMAIL_BACKEND = NO_MAIL
    document = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    once = mailing(device_id=uuid4())

    for _ in range(2):
        sendings.send_document(document=document, mailing=once, by=firm.coordinator)

    assert SharedLink.objects.count() == 1


def test_a_mail_goes_out_though_the_clock_was_put_back_since_it_was_asked_for(firm):
    send(firm)
    Sending.objects.update(due_at=now() + timedelta(hours=3))

    assert len(deliver()) == 1


def test_two_workers_at_one_mail_send_it_once(firm):
    send(firm)
    seen_by_both = [Sending.objects.get(), Sending.objects.get()]

    first, second = (jobs.take(row) for row in seen_by_both)

    assert second is None
    sendings.send_one(seen_by_both[0], first)
    assert len(mail.outbox) == 1


def test_a_worker_that_lost_its_claim_hands_nothing_over(firm):
    """It hung until its lease ran out; the next one has the mail by then."""
    send(firm)
    late = Sending.objects.get()
    claim = jobs.take(late)
    Sending.objects.update(lease_until=now() - timedelta(seconds=1))
    fresh = Sending.objects.get()
    sendings.send_one(fresh, jobs.take(fresh))

    with pytest.raises(ClaimLostError):
        sendings.send_one(late, claim)

    (sent,) = mail.outbox
    assert opens(link_behind(secret_in(sent)))  # the late one did not make another address


def test_a_mail_whose_worker_died_while_handing_it_over_is_not_sent_again_by_itself(firm):
    send(firm)
    row = Sending.objects.get()
    jobs.take(row)
    Sending.objects.update(handed_at=now(), lease_until=now() - timedelta(seconds=1))

    assert deliver() == []

    row.refresh_from_db()
    assert (row.state, row.sent_at) == (JobState.FAILED, None)
    assert "may have arrived or not" in row.error


@pytest.mark.parametrize("when", ["opening", "handing"])
def test_what_the_server_refuses_shows_why_and_is_sent_again_later(firm, server, monkeypatch, when):
    send(firm)
    monkeypatch.setattr(server, when, SMTPException("try\nlater"))

    assert deliver() == []

    row = Sending.objects.get()
    assert (row.state, row.failures, row.handed_at) == (JobState.WAITING, 1, None)
    assert row.error == "The mail server did not take it: try later. It is sent again."
    assert timedelta(minutes=4) < row.due_at - now() <= AGAIN_AFTER[0]
    assert not Sending.objects.wanted().exists()
    monkeypatch.setattr(server, when, None)
    Sending.objects.update(due_at=now())
    (sent,) = deliver()
    assert opens(link_behind(secret_in(sent)))
    assert Sending.objects.get().error == ""


@pytest.mark.parametrize(
    "error", [SMTPServerDisconnected("gone"), TimeoutError("slow")], ids=["gone", "no answer"]
)
def test_where_the_connection_breaks_nobody_can_tell_and_the_office_decides(firm, server, monkeypatch, error):
    send(firm)
    monkeypatch.setattr(server, "handing", error)

    deliver()

    row = Sending.objects.get()
    assert row.state == JobState.FAILED
    assert "may have arrived or not" in row.error
    monkeypatch.setattr(server, "handing", None)
    assert deliver() == []
    sendings.send_again(sending=row)
    assert len(deliver()) == 1


def test_it_is_given_up_after_a_day_and_can_be_asked_for_anew(firm, server, monkeypatch):
    send(firm)
    Sending.objects.update(failures=MOST_FAILURES - 1)
    monkeypatch.setattr(server, "handing", SMTPRecipientsRefused({"anna": (550, b"no such user")}))

    deliver()

    row = Sending.objects.get()
    assert row.state == JobState.FAILED
    assert "no such user" in row.error
    assert "Check the address" in row.error
    monkeypatch.setattr(server, "handing", None)
    sendings.send_again(sending=row)
    assert len(deliver()) == 1
    with refused(AlreadyDoneError, "was sent, or waits"):
        sendings.send_again(sending=row)


def test_the_pauses_grow_and_end():
    pauses = [again_after(failures) for failures in range(1, MOST_FAILURES + 1)]

    assert pauses[:3] == list(AGAIN_AFTER)
    assert set(pauses[3:-1]) == {AGAIN_AFTER[-1]}
    assert pauses[-1] is None


def test_without_a_mail_server_the_office_is_told_at_once_and_given_the_link(firm, settings):
    settings.EMAIL_BACKEND = NO_MAIL

    send(firm)

    row = Sending.objects.get()
    assert (row.state, row.sent_at) == (JobState.FAILED, None)
    assert "no outgoing mail" in row.error
    assert opens(link_behind(links.make_address(link=row.link, to=None)))


def test_a_mail_server_that_was_taken_away_meanwhile_is_told_too(firm, settings):
    send(firm)
    settings.EMAIL_BACKEND = NO_MAIL

    deliver()

    assert "no outgoing mail" in Sending.objects.get().error


def test_what_was_withdrawn_or_revoked_before_it_left_is_not_sent(firm):
    document = send(firm, "anna@owner.example", "ben@owner.example")
    links.revoke_link(link=Sending.objects.get(address="anna@owner.example").link, by=firm.admin)
    kept.withdraw(document=document, by=firm.coordinator, reason="Wrong period.")

    assert deliver() == []

    said = dict(Sending.objects.values_list("address", "error"))
    assert said["anna@owner.example"] == "It was not sent, since its link has ended: revoked."
    assert "document was withdrawn" in said["ben@owner.example"]


def test_an_address_that_somebody_took_to_pass_on_is_not_ended_by_the_waiting_mail(firm):
    send(firm)
    secret = links.make_address(link=Sending.objects.get().link, to=firm.coordinator)

    assert deliver() == []

    row = Sending.objects.get()
    assert row.state == JobState.FAILED
    assert "took the address of its link and passes it on" in row.error
    assert opens(link_behind(secret))


def test_an_address_taken_while_the_mail_is_made_ready_stays_too(firm):
    send(firm)
    row = Sending.objects.get()
    claim = jobs.take(row)
    assert row.link.shown_to is None  # as the worker read it
    secret = links.make_address(link=row.link, to=firm.coordinator)

    sendings.send_one(row, claim)

    row.refresh_from_db()
    assert mail.outbox == []
    assert (row.state, row.handed_at) == (JobState.FAILED, None)
    assert opens(link_behind(secret))


def test_whoever_took_the_address_can_have_it_mailed_all_the_same(firm):
    send(firm)
    links.make_address(link=Sending.objects.get().link, to=firm.coordinator)
    deliver()

    sendings.send_again(sending=Sending.objects.get())

    (sent,) = deliver()
    assert opens(link_behind(secret_in(sent)))


def send_to_reader(firm):
    reader = firm.owner.people.get()
    document = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    to_reader = Mailing((Recipient("anna@owner.example", reader),), SERVER)
    sendings.send_document(document=document, mailing=to_reader, by=firm.coordinator)
    return reader


@pytest.mark.parametrize("lost", ["the right", "the account"])
def test_a_waiting_mail_does_not_go_to_who_reads_for_the_owner_no_longer(firm, lost):
    reader = send_to_reader(firm)
    if lost == "the right":
        reader.delete()
    else:
        type(reader.user).objects.filter(pk=reader.user_id).update(is_active=False)

    assert deliver() == []

    row = Sending.objects.get()
    assert row.state == JobState.FAILED
    assert "no longer reads for the owner" in row.error


def test_who_still_reads_for_the_owner_gets_the_waiting_mail(firm):
    send_to_reader(firm)

    assert [one.to for one in deliver()] == [["anna@owner.example"]]


def test_the_pdf_of_a_handover_record_is_attached_and_left_out_where_too_large(firm, monkeypatch):
    document = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    sendings.send_document(
        document=document, mailing=mailing("anna@owner.example", with_pdf=True), by=firm.admin
    )
    (sent,) = deliver()
    ((name, pdf, kind),) = sent.attachments
    assert (name[-4:], pdf[:5], kind) == (".pdf", b"%PDF-", "application/pdf")

    monkeypatch.setattr(sendings, "MOST_ATTACHED_BYTES", 10)
    sendings.send_document(
        document=document, mailing=mailing("ben@owner.example", with_pdf=True), by=firm.admin
    )

    (sent,) = deliver()
    assert sent.attachments == []
    assert "too large for a mail" in sent.body


def test_a_copy_of_a_newer_edition_is_not_sent_and_says_so(firm):
    document = send(firm)
    Snapshot.objects.filter(pk=document.pk).update(payload={"schema": 999})

    assert deliver() == []
    assert "schema 999" in Sending.objects.get().error


def test_nobody_and_a_crowd_are_refused_and_nothing_is_kept(firm):
    crowd = [f"reader{n}@owner.example" for n in range(21)]

    for recipients, words in (
        ((), "type an address"),
        (tuple(map(Recipient, crowd)), "21 addresses are too many"),
    ):
        with refused(ValidationError, words, beside="addresses"):
            sendings.send_report(
                site=firm.site,
                audience=Audience.OWNER,
                since=SINCE,
                mailing=Mailing(recipients, SERVER),
                by=firm.coordinator,
            )


def test_what_was_kept_for_the_firm_is_not_sent(firm):
    inner = kept.freeze_handover(surface=firm.surface, audience=Audience.FIRM, by=firm.coordinator)

    with refused(NotAllowedNowError, "for people of the firm"):
        sendings.send_document(document=inner, mailing=mailing(), by=firm.coordinator)


def test_a_name_with_a_line_break_does_not_reach_the_head_of_a_mail(firm):
    firm.site.name = "Yard\nBcc: somebody@else.example"
    firm.site.save()
    send(firm)

    (sent,) = deliver()

    assert "\n" not in sent.subject
    assert sent.bcc == []
