"""A thread as each side reads it: names, withdrawn words and the state of mails stay with those they are for."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.audit import AuditState
from core.calc.jobs import JobState
from reporting.models import MessageMail, ThreadMessage
from reporting.selectors.messages import (
    NO_MAIL,
    NOBODY,
    NONE_SENT,
    office_of,
    owners_readers,
    questions_waiting,
    side_of_owner,
    thread_of,
)
from tests.factories import OwnerPersonFactory, SurfaceFactory, ThreadMessageFactory


def asked(firm, **more):
    return ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person, **more)


def answered(firm, **more):
    return ThreadMessageFactory(
        surface=firm.surface, recorded_by=firm.technician, from_owner=False, text="It does not.", **more
    )


def withdrawn(row):
    ThreadMessage.objects.filter(pk=row.pk).update(state=AuditState.VOID, state_reason="Wrong surface.")
    return row


def by_firm(firm, who=None, **more):
    return thread_of(firm.surface, who or firm.coordinator, Audience.FIRM, **{"may_write": True} | more)


def by_owner(firm, **more):
    return thread_of(firm.surface, firm.owner_person, Audience.OWNER, **{"may_write": True} | more)


def mailed(message, to, **columns):
    row = MessageMail.objects.create(message=message, to=to, link="https://x.example/", due_at=now())
    MessageMail.objects.filter(pk=row.pk).update(**columns)


def test_both_sides_read_the_same_words_in_the_order_they_were_written(firm):
    at = now() - timedelta(hours=2)
    answered(firm, written_at=at + timedelta(hours=1))
    asked(firm, text="Why?", written_at=at)

    for thread in (by_firm(firm), by_owner(firm)):
        assert [(one.text, one.by_owner) for one in thread.messages] == [
            ("Why?", True),
            ("It does not.", False),
        ]


def test_days_and_hours_are_those_of_the_site(firm):
    firm.site.time_zone = "Asia/Tokyo"
    firm.site.save()
    firm.surface.refresh_from_db()
    asked(firm, written_at=datetime(2026, 6, 9, 20, 5, tzinfo=UTC))

    (one,) = by_owner(firm).messages

    assert one.at.replace("\xa0", " ") == "10 Jun 2026, 05:05"


def test_a_withdrawn_message_keeps_its_words_and_reason_for_its_own_side_alone(firm):
    withdrawn(answered(firm))

    (own,), (other,) = by_firm(firm).messages, by_owner(firm).messages

    assert (own.text, own.withdrawn) == ("It does not.", "Withdrawn: Wrong surface.")
    assert (other.text, other.withdrawn) == ("", "This message was withdrawn.")


def test_the_office_does_not_read_what_an_owner_took_back(firm):
    withdrawn(asked(firm, text="secret of the owner"))

    (office,), (owner,) = by_firm(firm).messages, by_owner(firm).messages

    assert "secret of the owner" not in str(office)
    assert "Wrong surface." not in str(office)
    assert owner.text == "secret of the owner"


def test_how_mails_stand_is_told_to_the_firm_of_its_own_messages_alone(firm):
    mailed(answered(firm), firm.owner_person, state=JobState.DONE, sent_at=now())
    mailed(asked(firm), firm.admin, state=JobState.DONE, sent_at=now())

    assert [one.mails for one in by_owner(firm).messages] == ["", ""]
    assert sorted(one.mails for one in by_firm(firm).messages) == ["", "Mailed to 1 person."]


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ([], NOBODY),
        ([{"state": JobState.DONE, "sent_at": now()}] * 2, "Mailed to 2 people."),
        ([{"state": JobState.DONE, "sent_at": now()}, {}], "The mail is on its way."),
        ([{"state": JobState.DONE, "sent_at": now()}, {"state": JobState.DONE}], "Mailed to 1 person."),
        ([{"state": JobState.DONE}], NONE_SENT),
        (
            [{"state": JobState.FAILED, "error": "no such mailbox"}],
            "Not mailed to everybody: no such mailbox",
        ),
        (
            [{"state": JobState.DONE, "sent_at": now()}, {"error": "full. It is sent again."}],
            "Not mailed to everybody: full. It is sent again.",
        ),
    ],
)
def test_how_the_mails_stand_in_words(firm, columns, said):
    message = answered(firm)
    for each in columns:
        mailed(message, OwnerPersonFactory(owner=firm.owner).user, **each)

    (one,) = by_firm(firm).messages

    assert one.mails == said


def test_without_outgoing_mail_the_firm_is_told_to_phone(firm, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    mailed(answered(firm), firm.owner_person)

    assert by_firm(firm).messages[0].mails == NO_MAIL


def test_each_may_take_back_what_they_wrote_and_who_plans_what_the_firm_wrote(firm):
    answered(firm)

    def may(who, **more):
        return by_firm(firm, who, **more).messages[0].may_withdraw

    assert may(firm.technician)
    assert not may(firm.coordinator)
    assert may(firm.coordinator, may_plan=True)
    assert not may(firm.technician, may_write=False)


def test_nobody_takes_back_the_words_of_the_other_side_nor_takes_back_twice(firm):
    asked(firm)
    withdrawn(answered(firm))

    assert not any(one.may_withdraw for one in by_firm(firm, firm.technician, may_plan=True).messages)
    assert [one.may_withdraw for one in by_owner(firm).messages].count(True) == 1


def test_a_second_person_of_the_owner_reads_and_does_not_take_back(firm):
    asked(firm)
    second = OwnerPersonFactory(owner=firm.owner).user

    thread = thread_of(firm.surface, second, Audience.OWNER, may_write=True)

    assert not thread.messages[0].may_withdraw
    assert thread.messages[0].text


def test_a_thread_waits_while_the_last_question_has_no_answer(firm):
    asked(firm, written_at=now() - timedelta(hours=2))
    assert by_firm(firm).waits

    answered(firm)
    assert not by_firm(firm).waits


def test_a_long_thread_takes_no_more_queries_than_a_short_one(firm):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as found:
            by_firm(firm)
        return len(found)

    mailed(answered(firm), firm.owner_person)
    short = queries()
    for _ in range(5):
        mailed(answered(firm), firm.owner_person)
        asked(firm)

    assert queries() == short <= 4


def test_only_those_who_read_for_this_owner_write_on_its_side(firm):
    other = OwnerPersonFactory().user

    assert side_of_owner(firm.surface, firm.owner_person)
    assert not side_of_owner(firm.surface, other)
    assert not side_of_owner(firm.surface, firm.admin)


def test_a_question_reaches_who_plans_and_nobody_who_may_not_sign_in(firm):
    firm.admin.is_active = False
    firm.admin.save()

    assert office_of(asked(firm)) == [firm.coordinator]


def test_an_answer_reaches_all_readers_where_who_asked_reads_for_the_owner_no_longer(firm):
    gone = OwnerPersonFactory(owner=firm.owner)
    ThreadMessageFactory(surface=firm.surface, recorded_by=gone.user)
    gone.delete()

    assert owners_readers(answered(firm)) == [firm.owner_person]


def test_what_waits_is_told_to_the_firm_it_was_asked_and_the_oldest_first(firm):
    later = asked(firm, written_at=now() - timedelta(hours=1))
    elsewhere = SurfaceFactory(site=firm.site)
    first = ThreadMessageFactory(
        surface=elsewhere, recorded_by=firm.owner_person, written_at=now() - timedelta(days=3)
    )
    ThreadMessageFactory()  # of another firm

    assert list(questions_waiting(firm.coordinator, firm.organisation)) == [first, later]
    assert list(questions_waiting(firm.outsider, firm.organisation)) == []
