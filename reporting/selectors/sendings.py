"""What was sent to whom, what failed, and which reports are to be sent."""

from dataclasses import dataclass

from django.db.models import Max, Q, QuerySet, Sum
from django.utils.timezone import now

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.audit import AuditState
from core.calc.jobs import JobState
from qa.models import Site
from reporting.calc.sharing import DueState
from reporting.models import DueReport, ReportRoutine, Sending, Snapshot


@dataclass(frozen=True, slots=True)
class ToSend:
    """How many reports wait for the office, and how many mails could not be sent."""

    due: int
    failed: int


def to_send(user: User, organisation: Organisation) -> ToSend:
    """What a coordinator is told of on the first pages; in two queries, however much there is."""
    failed = Sending.objects.for_user(user, Role.COORDINATOR).of_organisation(organisation)
    return ToSend(
        due=_open(user, organisation).count(),
        failed=failed.filter(_failed()).count(),
    )


def _failed() -> Q:
    """Mails that were given up. Where its link was taken by hand since, or ended, nothing is left to do."""
    link = {"link__shown_to": None, "link__revoked_at": None, "link__expires_at__gt": now()}
    return Q(state=JobState.FAILED, document__state=AuditState.ACTIVE, **link)


def waiting_dues(user: User, organisation: Organisation) -> QuerySet[DueReport]:
    """Reports that fell due and wait for the office."""
    return _open(user, organisation).select_related("site__owner")


def _open(user: User, organisation: Organisation) -> QuerySet[DueReport]:
    rows = DueReport.objects.for_user(user, Role.COORDINATOR).of_organisation(organisation)
    return rows.filter(state=DueState.OPEN)


def sendings_of(user: User, organisation: Organisation, only_failed: bool) -> QuerySet[Sending]:
    """Every sending of a firm, the newest first."""
    rows = Sending.objects.for_user(user, Role.COORDINATOR).of_organisation(organisation)
    return _shown(rows.filter(_failed()) if only_failed else rows)


def sendings_of_site(user: User, site: Site) -> QuerySet[Sending]:
    """What was sent of a site, for who may see it."""
    rows = Sending.objects.for_user(user, Role.COORDINATOR).filter(document__site=site)
    return _shown(rows)


def sendings_of_document(user: User, document: Snapshot) -> QuerySet[Sending]:
    """To whom a document was sent, for who may see it."""
    rows = Sending.objects.for_user(user, Role.COORDINATOR).filter(document=document)
    return _shown(rows)


def routine_of(user: User, site: Site) -> ReportRoutine | None:
    """How the reports of a site go by themselves; None where they wait for the office, or the reader may not know."""
    rows = ReportRoutine.objects.for_user(user, Role.COORDINATOR).going().filter(site=site)
    return rows.select_related("set_by", "document").defer("document__payload").first()


def _shown(rows: QuerySet[Sending]) -> QuerySet[Sending]:
    """With what their lines say, how often each link was opened too."""
    joined = rows.select_related(
        "document", "link__document", "link__revoked_by", "link__shown_to", "asked_by"
    )
    counted = joined.defer("document__payload", "link__document__payload").annotate(
        openings_in_all=Sum("link__openings__times"), last_opened_at=Max("link__openings__opened_at")
    )
    return counted.order_by("-asked_at", "address", "pk")
