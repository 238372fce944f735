"""What a person may be told of, who gets which kind, and which of them stand on until somebody chooses otherwise."""

from collections.abc import Collection
from dataclasses import dataclass

from accounts.calc.roles import Role
from core.calc.choices import TextChoice

USUAL_HOUR = 7  # of the day, where the firm's office is
KEPT_DAYS = 90
VISITS_KEPT_DAYS = (
    400  # days of crews are set up to a year ahead, and what changes is told against what was told
)
MAILED_DAYS = 7  # what is older when the first daily mail goes out stays in the app


class NoticeKind(TextChoice):
    """What a notice tells of."""

    VISIT = "visit", "A day of your crew is set, moved or cancelled"
    LIMIT = "limit", "A surface reached its limit, or is likely to soon"
    REPORT = "report", "A report is due and waits for your approval"
    APPROVAL = "approval", "Your approval of a quote is asked"
    ANSWER = "answer", "An owner answered a quote"
    QUESTION = "question", "An owner asked a question"
    REPLY = "reply", "Your question was answered"
    ENTRY = "entry", "A record of a phone was refused, or is no longer on it"
    LINK = "link", "A link that was passed on ends soon"
    FAILED = "failed", "A mail or other work in the background failed"
    FINISHED = "finished", "What you had made in the background is finished"


@dataclass(frozen=True, slots=True)
class Way:
    """How a notice reaches somebody."""

    in_app: bool
    by_mail: bool

    @property
    def reaches(self) -> bool:
        """Whether it reaches them at all."""
        return self.in_app or self.by_mail


@dataclass(frozen=True, slots=True)
class Terms:
    """Who can get a kind. least_role: in the firm, None for nobody there; owners: whether an owner's people can.

    on_from: the least role for which it starts switched on. by_mail: whether the daily mail starts with it: not where
    a mail of its own goes out at once.
    """

    least_role: Role | None = None
    owners: bool = False
    on_from: Role = Role.OWNER
    by_mail: bool = True

    def reach(self, role: int) -> bool:
        """Whether somebody in that role can get it."""
        if role == Role.OWNER:
            return self.owners
        return self.least_role is not None and role >= self.least_role

    def usual(self, role: int) -> Way:
        """How it reaches somebody in that role who has not chosen."""
        on = self.reach(role) and role >= self.on_from
        return Way(in_app=on, by_mail=on and self.by_mail)


TERMS = {
    NoticeKind.VISIT: Terms(Role.VIEWER),
    NoticeKind.LIMIT: Terms(Role.VIEWER, on_from=Role.COORDINATOR),
    NoticeKind.REPORT: Terms(Role.COORDINATOR),
    NoticeKind.APPROVAL: Terms(owners=True, by_mail=False),
    NoticeKind.ANSWER: Terms(Role.COORDINATOR, by_mail=False),
    NoticeKind.QUESTION: Terms(Role.COORDINATOR, by_mail=False),
    NoticeKind.REPLY: Terms(owners=True, by_mail=False),
    NoticeKind.ENTRY: Terms(Role.COORDINATOR),
    NoticeKind.LINK: Terms(Role.COORDINATOR),
    NoticeKind.FAILED: Terms(Role.ADMIN),
    NoticeKind.FINISHED: Terms(Role.TECHNICIAN, by_mail=False),
}


def kinds_for(roles: Collection[int]) -> list[NoticeKind]:
    """The kinds that somebody who holds these roles at one firm can get."""
    return [kind for kind, terms in TERMS.items() if any(terms.reach(role) for role in roles)]


def usual_way(kind: NoticeKind, roles: Collection[int]) -> Way:
    """How a kind reaches somebody who has not chosen; the more of several roles."""
    ways = [TERMS[kind].usual(role) for role in roles]
    return Way(any(way.in_app for way in ways), any(way.by_mail for way in ways))
