"""Reports in the months that agreements name: proposed to the office, approved, skipped, or sent by themselves."""

import logging
from dataclasses import replace
from datetime import date, datetime
from uuid import uuid5

from django.db import transaction
from django.db.models import Exists, Max, OuterRef, Q, QuerySet
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience
from accounts.models import Organisation, User
from core.calc.audit import AuditState
from core.errors import AlreadyDoneError
from core.services.records import find_by_device_id
from planning.models import Agreement
from qa.models import Site, Surface
from qa.selectors.days import firm_date
from reporting.calc.sharing import DueState, Terms, latest_due_month, report_since
from reporting.calc.snapshots import SnapshotKind
from reporting.models import DueReport, ReportRoutine, Sending, Snapshot
from reporting.services import sendings
from reporting.services.notices import tell_due
from reporting.services.sendings import Mailing, Recipient

log = logging.getLogger(__name__)

DECIDED = gettext_noop(
    "This report was %(state)s by somebody before. Open the page of the site's reports to see it."
)
BY_ITSELF = "by itself"


def propose_reports(at: datetime) -> int:
    """Propose what agreements ask for by the firms' days, and send what goes by itself; returns how many were new.

    Safe to run twice: a site and a month have one proposal.
    """
    made, days = 0, _Days(at)
    for agreement in _with_report_months():
        try:
            made += _propose_asked(agreement, days[agreement.site.organisation])
        except Exception:  # whatever is wrong at one site, the firms after it get their reports
            log.exception("What %s asks for cannot be read or proposed", agreement)
    for due in _going_by_themselves():
        try:
            _send_by_itself(due)
        except Exception:  # likewise; it stays proposed, and the next turn tries anew
            log.exception("%s could not be sent by itself", due)
    return made


class _Days(dict[Organisation, date]):
    """The day at each firm at an instant, asked for once."""

    def __init__(self, at: datetime) -> None:
        super().__init__()
        self.at = at

    def __missing__(self, firm: Organisation) -> date:
        self[firm] = firm_date(firm, self.at)
        return self[firm]


def _with_report_months() -> QuerySet[Agreement]:
    in_service = Surface.objects.filter(site=OuterRef("site"), removed_on=None)
    rows = Agreement.objects.filter(Exists(in_service)).select_related("site__organisation")
    return rows.exclude(report_months_json=Agreement().report_months_json)


def _propose_asked(agreement: Agreement, today: date) -> bool:
    terms = _terms(agreement, today)
    month = latest_due_month(terms, today)
    return month is not None and _propose(agreement.site, month, terms, today)


def _terms(agreement: Agreement, today: date) -> Terms:
    """Nothing is due of months that had begun before anybody wrote the agreement down."""
    noted = agreement.site.today(agreement.created_at)
    since = max(noted, agreement.since) if agreement.since else noted
    return Terms(tuple(agreement.report_months), since, agreement.term_end(today))


@transaction.atomic
def _propose(site: Site, month: date, terms: Terms, today: date) -> bool:
    if DueReport.objects.filter(site=site, month__gte=month).exists():
        return False
    last = _last_sent(site)
    if last is not None and month <= last <= today:
        return False  # the owner has had this month's report before anybody was asked for it
    since = report_since(last, terms.months, today)
    due, made = DueReport.objects.get_or_create(site=site, month=month, defaults={"since": since})
    if made:
        if not ReportRoutine.objects.going().filter(site=site, owner=site.owner_id).exists():
            tell_due(due=due)
        older = DueReport.objects.filter(site=site, state=DueState.OPEN, month__lt=month)
        older.update(state=DueState.REPLACED, decided_at=now())
    return made


def _last_sent(site: Site) -> date | None:
    """The last day of the newest report that was sent, or handed on as a link."""
    reached = Q(sendings__isnull=False) | Q(links__address_made_at__isnull=False)
    sent = Snapshot.objects.filter(reached, site=site, kind=SnapshotKind.REPORT, state=AuditState.ACTIVE)
    last: date | None = sent.aggregate(last=Max("until"))["last"]  # which rows met twice do not change
    return last


@transaction.atomic
def send_due(
    *, due: DueReport, audience: Audience, since: date, mailing: Mailing, by: User, by_themselves: bool
) -> Snapshot:
    """Send a proposed report. Raises AlreadyDoneError where somebody decided on it before, and ValidationError.

    by_themselves: whether the next ones of the site go without being asked.
    """
    first = find_by_device_id(Snapshot(device_id=mailing.device_id), site=due.site)
    if first is not None:
        return first
    _settle(due, DueState.SENT, by)
    document = sendings.send_report(site=due.site, audience=audience, since=since, mailing=mailing, by=by)
    DueReport.objects.filter(pk=due.pk).update(document=document)
    if by_themselves:
        _set_routine(due.site, document, by)
    return document


@transaction.atomic
def skip_due(*, due: DueReport, by: User) -> None:
    """Decide that a proposed report is not sent. Raises AlreadyDoneError where somebody decided before."""
    _settle(due, DueState.SKIPPED, by)


def _settle(due: DueReport, state: DueState, by: User | None) -> None:
    """One conditional update: of two people, or two processes, one decides."""
    rows = DueReport.objects.filter(pk=due.pk, state=DueState.OPEN)
    if not rows.update(state=state, decided_at=now(), decided_by=by):
        due.refresh_from_db()
        raise AlreadyDoneError(_(DECIDED) % {"state": DueState(due.state).in_sentence})


def _set_routine(site: Site, document: Snapshot, by: User) -> None:
    ReportRoutine.objects.filter(site=site).going().update(ended_at=now(), ended_by=by)
    ReportRoutine.objects.create(site=site, owner_id=site.owner_id, document=document, set_by=by)


@transaction.atomic
def end_routine(*, routine: ReportRoutine, by: User) -> None:
    """Have the next reports of a site wait for the office again. Raises AlreadyDoneError where that was so."""
    if not ReportRoutine.objects.filter(pk=routine.pk).going().update(ended_at=now(), ended_by=by):
        raise AlreadyDoneError(_("The reports of this site wait for you already."))


def _going_by_themselves() -> list[DueReport]:
    going = ReportRoutine.objects.going().filter(site=OuterRef("site"), owner=OuterRef("site__owner"))
    rows = DueReport.objects.filter(Exists(going), state=DueState.OPEN)
    return list(rows.select_related("site__organisation", "site__owner"))


@transaction.atomic
def _send_by_itself(due: DueReport) -> None:
    """To whom the approved one went, but for those who may read it no longer; with nobody left it waits."""
    routine = ReportRoutine.objects.going().select_related("document").get(site=due.site)
    before = _approved(routine)
    recipients = still_to_get(before)
    if not recipients:
        tell_due(due=due)
        return
    _settle(due, DueState.SENT, None)
    document = sendings.send_report(
        site=due.site,
        audience=Audience(routine.document.audience),
        since=due.since,
        mailing=replace(_as_approved(routine, before, recipients), device_id=uuid5(due.pk, BY_ITSELF)),
        by=None,
    )
    DueReport.objects.filter(pk=due.pk).update(document=document)


def _approved(routine: ReportRoutine) -> list[Sending]:
    """To whom it went when somebody approved it; whoever got the same document later was never approved for the next.

    By when the row was made, since one that was sent anew is asked for later than it was approved.
    """
    rows = routine.document.sendings.filter(created_at__lte=routine.set_at, link__revoked_at=None)
    return list(rows.select_related("person__user", "link"))


def _as_approved(routine: ReportRoutine, before: list[Sending], recipients: list[Recipient]) -> Mailing:
    """As it was sent then. What was written to one person when it was sent anew is for that person alone."""
    like = next((row for row in before if row.asked_at <= routine.set_at), None)
    if like is not None:
        return Mailing(recipients, like.server, like.message, like.with_pdf, units=like.link.units)
    anew = before[0]
    return Mailing(recipients, anew.server, with_pdf=anew.with_pdf, units=anew.link.units)


def still_to_get(before: list[Sending]) -> list[Recipient]:
    """Who got the last one and still may: at the address that they have now."""
    found = []
    for row in before:
        if not row.for_reader:
            found.append(Recipient(row.address))
        elif row.person is not None and row.person.user.is_active:
            found.append(Recipient(row.person.user.email.lower(), row.person))
    return found
