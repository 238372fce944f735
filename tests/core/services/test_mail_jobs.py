"""A mail that is a job goes out once: handed over, refused and tried again, given up, or lost on its way."""

from datetime import timedelta
from smtplib import SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core import mail as outbox
from django.core.mail import EmailMessage
from django.utils.timezone import now

from core.errors import ClaimLostError
from core.services import jobs
from core.services.mail import AGAIN_AFTER, MOST_FAILURES, again_after
from core.services.mail_jobs import Told, deliver
from reporting.models import MessageMail
from tests.factories import ThreadMessageFactory

TOLD = Told("Refused: {why}.", "Given up: {why}.", "Nobody knows.")
REFUSED = SMTPRecipientsRefused({"a@x.example": (550, b"No such user")})
GONE = SMTPServerDisconnected("Connection unexpectedly closed")


@pytest.fixture
def row(firm):
    message = ThreadMessageFactory(surface=firm.surface)
    return MessageMail.objects.create(
        message=message, to=firm.coordinator, link="http://testserver/", due_at=now()
    )


def written():
    return EmailMessage("Hello", "Text", to=["a@x.example"])


def delivered(row, write=written, **columns):
    """One delivery of the row, and the row as it is after it."""
    MessageMail.objects.filter(pk=row.pk).update(state="waiting", attempts=0, **columns)
    fresh = MessageMail.objects.get(pk=row.pk)
    deliver(fresh, jobs.take(fresh), write, TOLD)
    return MessageMail.objects.get(pk=row.pk)


def test_a_mail_that_is_taken_is_sent_and_done(row, mail_server):
    after = delivered(row, failures=3)

    assert (after.state, after.error, after.failures) == ("done", "", 0)
    assert after.handed_at <= after.sent_at
    assert [mail.subject for mail in outbox.outbox] == ["Hello"]


@pytest.mark.parametrize("where", ["opening", "handing"])
def test_a_mail_that_is_refused_waits_and_may_be_handed_over_again(row, mail_server, where):
    setattr(mail_server, where, REFUSED)

    after = delivered(row)

    assert (after.state, after.failures, after.handed_at, after.sent_at) == ("waiting", 1, None, None)
    assert after.error.startswith("Refused: ")
    assert "No such user" in after.error
    assert after.due_at - now() == pytest.approx(AGAIN_AFTER[0], abs=timedelta(seconds=5))
    setattr(mail_server, where, None)
    assert delivered(row).state == "done"
    assert len(outbox.outbox) == 1


@pytest.mark.parametrize(("before", "minutes"), [(0, 5), (1, 15), (2, 60), (3, 60), (MOST_FAILURES - 2, 60)])
def test_each_refusal_is_waited_for_longer(row, mail_server, before, minutes):
    mail_server.opening = OSError("Connection refused")

    after = delivered(row, failures=before)

    assert after.failures == before + 1
    assert after.due_at - now() == pytest.approx(timedelta(minutes=minutes), abs=timedelta(seconds=5))


def test_after_a_day_of_refusals_it_is_given_up_in_words_and_can_be_begun_anew(row, mail_server):
    mail_server.opening = OSError("Connection refused")

    after = delivered(row, failures=MOST_FAILURES - 1)

    assert (after.state, after.error) == ("failed", "Given up: Connection refused.")
    assert (after.failures, after.handed_at) == (0, None)


@pytest.mark.parametrize("error", [GONE, OSError("Broken pipe"), TimeoutError("timed out")], ids=str)
def test_a_mail_that_may_have_arrived_is_never_sent_again_by_itself(row, mail_server, error):
    mail_server.handing = error

    after = delivered(row)

    assert (after.state, after.error) == ("failed", "Nobody knows.")
    assert after.handed_at is not None
    mail_server.handing = None
    with pytest.raises(ClaimLostError):
        delivered(row)
    assert mail_server.tried == 1


def test_what_the_server_says_to_a_goodbye_changes_nothing(row, mail_server):
    mail_server.closing = GONE

    assert delivered(row).state == "done"


def test_of_two_workers_the_one_whose_hold_was_taken_writes_and_sends_nothing(row, mail_server):
    late = jobs.take(MessageMail.objects.get(pk=row.pk))
    jobs.requeue(MessageMail.objects.filter(pk=row.pk))
    assert delivered(row).state == "done"

    with pytest.raises(ClaimLostError, match="held by somebody else"):
        deliver(row, late, lambda: pytest.fail("it was written"), TOLD)
    assert mail_server.tried == 1


def test_a_mail_that_cannot_be_written_leaves_no_note_that_it_left(row, mail_server):
    """Else it would never be tried again."""

    def fails():
        raise KeyError("no such template")

    with pytest.raises(KeyError):
        delivered(row, fails)
    assert MessageMail.objects.get(pk=row.pk).handed_at is None
    assert mail_server.tried == 0


def test_where_the_server_does_not_listen_nothing_is_written(row, mail_server):
    mail_server.opening = OSError("Connection refused")

    delivered(row, lambda: pytest.fail("it was written"))


@pytest.mark.parametrize("failures", range(1, MOST_FAILURES + 3))
def test_the_wait_never_shrinks_and_ends_once(failures):
    wait, before = again_after(failures), again_after(failures - 1) if failures > 1 else AGAIN_AFTER[0]

    assert (wait is None) is (failures >= MOST_FAILURES)
    assert wait is None or wait >= before
