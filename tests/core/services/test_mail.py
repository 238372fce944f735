"""Handing a mail over: what a mail server has not got may be sent again, what it may have got must not."""

from smtplib import SMTPConnectError, SMTPDataError, SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core import mail as outgoing
from django.core.mail import EmailMessage

from core.errors import ClaimLostError, MailAnswerLostError, MailRefusedError
from core.services import mail


def hand_over(leaving=lambda: None):
    def write():
        leaving()
        return EmailMessage("Subject", "Text", None, ["anna@owner.example"])

    mail.hand_over(write)


@pytest.mark.parametrize(
    "error",
    [
        SMTPServerDisconnected("gone"),
        TimeoutError("slow"),
        SMTPConnectError(421, "busy"),
        OSError("no route"),
    ],
)
def test_a_server_that_never_listened_has_not_got_it(mail_server, error):
    mail_server.opening = error
    noted = []

    with pytest.raises(MailRefusedError):
        hand_over(leaving=lambda: noted.append(1))

    assert (noted, mail_server.tried) == ([], 0)


@pytest.mark.parametrize(
    "error", [SMTPDataError(552, b"too large"), SMTPRecipientsRefused({"anna": (550, b"no such user")})]
)
def test_a_server_that_answers_with_a_refusal_has_not_got_it(mail_server, error):
    mail_server.handing = error

    with pytest.raises(MailRefusedError, match=r"too large|no such user"):
        hand_over()


@pytest.mark.parametrize(
    "error", [SMTPServerDisconnected("gone"), TimeoutError("slow"), ConnectionResetError("reset")]
)
def test_a_server_that_is_gone_after_it_was_given_a_mail_may_have_got_it(mail_server, error):
    mail_server.handing = error

    with pytest.raises(MailAnswerLostError):
        hand_over()


def test_what_a_server_says_to_a_goodbye_changes_nothing(mail_server):
    mail_server.closing = TimeoutError("slow")

    hand_over()

    assert len(outgoing.outbox) == 1


@pytest.mark.usefixtures("mail_server")
def test_nothing_leaves_where_it_may_not():
    def refuse():
        raise ClaimLostError("Somebody else has it.")

    with pytest.raises(ClaimLostError):
        hand_over(leaving=refuse)

    assert outgoing.outbox == []
