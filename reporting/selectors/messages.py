"""Threads of questions and answers: as a reader sees one, who is told, and which wait for the firm."""

from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from accounts.calc.audience import Audience, Matter
from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.format import moment
from core.calc.jobs import JobState
from core.services import mail
from qa.models import Surface
from reporting.calc.messages import MessagePart, ThreadPart
from reporting.models import MessageMail, ThreadMessage

NO_MAIL = gettext_noop("Not mailed: this server has no outgoing mail. Tell them by phone.")
NOBODY = gettext_noop("Not mailed: nobody reads for this owner yet.")
NONE_SENT = gettext_noop(
    "Not mailed: it was withdrawn, or who was to read it may not sign in any more, before the mail went out."
)


def side_of_owner(surface: Surface, user: User) -> bool:
    """Whether somebody may write for the owner of a surface."""
    return surface.site.owner.people.filter(user=user).exists()


def thread_of(
    surface: Surface, user: User, audience: Audience, *, may_write: bool, may_plan: bool = False
) -> ThreadPart:
    """The thread as a reader sees it, in three queries however long it is: an owner's own, to the firm every owner's.

    may_write: whether they may add to it, and take back what they wrote; may_plan: what others of the firm wrote too.
    """
    rows = _rows_for(surface, audience)
    waiting = set(ThreadMessage.objects.waiting().filter(surface=surface).values_list("pk", flat=True))
    zone = ZoneInfo(surface.site.time_zone)

    def part(row: ThreadMessage) -> MessagePart:
        own_side = row.from_owner == (audience is not Audience.FIRM)
        mine = row.recorded_by_id == user.pk or (may_plan and not row.from_owner)
        return MessagePart(
            key=row.pk,
            by=str(row.recorded_by) if own_side or audience.sees(Matter.PEOPLE) else "",
            by_owner=row.from_owner,
            owner=str(row.owner) if audience is Audience.FIRM else "",
            at=moment(row.written_at, zone),
            own_side=own_side,
            text=row.text if row.is_active or own_side else "",
            withdrawn="" if row.is_active else _withdrawn(row, own_side=own_side),
            may_withdraw=row.is_active and own_side and may_write and mine,
            waits=row.pk in waiting,
            mails=_mails(row) if own_side and audience.sees(Matter.MESSAGE_MAILS) else "",
        )

    return ThreadPart(tuple(part(row) for row in rows), may_write)


def _rows_for(surface: Surface, audience: Audience) -> QuerySet[ThreadMessage]:
    """Whoever buys a site reads nothing of what the firm and the owner before them wrote to one another."""
    rows = ThreadMessage.objects.filter(surface=surface)
    if audience is not Audience.FIRM:
        rows = rows.filter(owner=surface.site.owner_id)
    return rows.select_related("recorded_by", "owner").prefetch_related("mails")


def _withdrawn(row: ThreadMessage, *, own_side: bool) -> str:
    """That it was taken back; why is told to the side that wrote it."""
    if own_side:
        return _("Withdrawn: {why}").format(why=row.state_reason)
    return _("This message was withdrawn.")


def _mails(row: ThreadMessage) -> str:
    """Whether the owner's people were told of it by mail."""
    mails: list[MessageMail] = list(row.mails.all())
    if not mails:
        return _(NOBODY)
    failed = next((one.error for one in mails if one.error), "")
    if failed:
        return _("Not mailed to everybody: {why}").format(why=failed)
    if all(one.state == JobState.DONE for one in mails):
        sent = sum(one.sent_at is not None for one in mails)
        said = ngettext("Mailed to {count} person.", "Mailed to {count} people.", sent).format(count=sent)
        return said if sent else _(NONE_SENT)
    return _("The mail is on its way.") if mail.is_set_up() else _(NO_MAIL)


def office_of(message: ThreadMessage) -> list[User]:
    """Who is told of an owner's question: those who plan for the firm."""
    firm = message.surface.site.organisation
    members = firm.memberships.filter(role__gte=Role.COORDINATOR, user__is_active=True)
    return [row.user for row in members.select_related("user").order_by("user__email")]


def owners_readers(message: ThreadMessage) -> list[User]:
    """Who is told of an answer: those of the owner who wrote in the thread; all who read for it where none did."""
    people = message.owner.people.filter(user__is_active=True).select_related("user")
    asked = ThreadMessage.objects.filter(surface=message.surface, owner=message.owner, from_owner=True)
    wrote = set(asked.values_list("recorded_by", flat=True))
    known = [row.user for row in people.order_by("user__email")]
    return [user for user in known if user.pk in wrote] or known


def may_be_told(message: ThreadMessage, person: User) -> bool:
    """Whether somebody who was to be told of a message still plans for the firm, or still reads for its owner.

    Not whether they would be chosen now: once one of an owner's readers writes, what was sent to all still goes to all.
    """
    if message.from_owner:
        return person in office_of(message)
    return message.owner.people.filter(user=person, user__is_active=True).exists()


def questions_waiting(user: User, organisation: Organisation) -> QuerySet[ThreadMessage]:
    """What owners asked a firm and nobody answered, what has waited for longest first."""
    rows = ThreadMessage.objects.waiting().for_user(user, Role.VIEWER).of_organisation(organisation)
    return rows.select_related("surface__site", "owner", "recorded_by").order_by("written_at", "pk")
