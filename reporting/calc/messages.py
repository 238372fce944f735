"""The thread of questions and answers on a surface, as one reader sees it."""

from dataclasses import dataclass
from uuid import UUID

MOST_LETTERS = 2_000


@dataclass(frozen=True, slots=True)
class MessagePart:
    """One message. text: empty where it was withdrawn and the reader is of the other side.

    at: day and hour at the site. by_owner: whether somebody of the owner wrote it.
    owner: whose thread it is of, named to the firm alone: a site that was sold has one with each of its owners.
    own_side: whether it was written on the reader's side. mails: how the mails about it stand, told to the firm alone.
    """

    key: UUID
    by: str
    by_owner: bool
    at: str
    text: str
    owner: str = ""
    own_side: bool = False
    withdrawn: str = ""
    may_withdraw: bool = False
    waits: bool = False
    mails: str = ""


@dataclass(frozen=True, slots=True)
class ThreadPart:
    """The messages of a surface, the oldest first. may_write: whether the reader may add one."""

    messages: tuple[MessagePart, ...]
    may_write: bool

    @property
    def waits(self) -> bool:
        """Whether the owner's last word is still without an answer."""
        return any(message.waits for message in self.messages)
