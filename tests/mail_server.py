"""A mail server for tests that takes mails, or raises what it is told."""

from collections.abc import Sequence
from typing import ClassVar

from django.core.mail import EmailMessage
from django.core.mail.backends.locmem import EmailBackend


class MailServer(EmailBackend):
    """It raises what it is told when the connection opens, once a mail was handed over, or when it closes.

    tried: how many mails it was given, taken or not.
    """

    opening: ClassVar[Exception | None] = None
    handing: ClassVar[Exception | None] = None
    closing: ClassVar[Exception | None] = None
    tried: ClassVar[int] = 0

    def open(self) -> None:
        if MailServer.opening:
            raise MailServer.opening

    def send_messages(self, messages: Sequence[EmailMessage]) -> int:
        MailServer.tried += len(messages)
        if MailServer.handing:
            raise MailServer.handing
        return super().send_messages(messages)

    def close(self) -> None:
        if MailServer.closing:
            raise MailServer.closing
