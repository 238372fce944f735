"""A job of each kind, for tests of what is seen of them."""

from datetime import date, timedelta

from django.utils.timezone import now

from accounts.calc.audience import Audience
from accounts.models import DigestMail
from exchange.models import DataExport, DataImport, Restoration
from maintenance.models import Forecast, PortfolioFit
from operations.calc.job_kinds import KINDS
from operations.selectors.jobs import rows_of
from planning.models import OwnerNotice
from reporting.calc.snapshots import SnapshotKind
from reporting.models import MessageMail, Snapshot
from tests.clock import TODAY
from tests.factories import SendingFactory, ThreadMessageFactory, WorkPlanFactory


def one_of_each(firm):
    """The jobs by the key of their kind, all within one firm and waiting."""
    mine = {"organisation": firm.organisation, "made_by": firm.admin}
    forecast, _ = Forecast.objects.get_or_create(surface=firm.surface)
    notice, _ = OwnerNotice.objects.get_or_create(
        reader=firm.owner.people.first(), defaults={"due_at": now()}
    )
    message = ThreadMessageFactory(surface=firm.surface)
    return {
        "forecast": forecast,
        "fit": PortfolioFit.objects.create(organisation=firm.organisation),
        "plan": WorkPlanFactory(organisation=firm.organisation, first_on=date(2031, 5, 1)),
        "notice": notice,
        "sending": SendingFactory(document=document_of(firm)),
        "message": MessageMail.objects.create(
            message=message, to=firm.coordinator, link="http://testserver/", due_at=now()
        ),
        "daily": DigestMail.objects.create(
            organisation=firm.organisation, user=firm.coordinator, on=TODAY, due_at=now()
        ),
        "import": DataImport.objects.create(names="owners.csv", content="sent.zip", **mine),
        "export": DataExport.objects.create(**mine),
        "restore": Restoration.objects.create(content="archive.zip", **mine),
    }


def document_of(firm):
    """A document of the firm, kept as it is today."""
    return Snapshot.objects.create(
        organisation=firm.organisation,
        owner=firm.owner,
        site=firm.site,
        kind=SnapshotKind.REPORT.value,
        audience=Audience.OWNER.value,
        title="Report of the yard",
        since=TODAY,
        until=TODAY,
        payload={},
    )


def give_state(firm_jobs, state, **columns):
    """Every job in a state, as if it had come to it."""
    ended = {"finished_at": now()} if state in ("done", "failed") else {}
    held = {"lease_until": now() + timedelta(minutes=1), "started_at": now()} if state == "running" else {}
    for kind in KINDS:
        rows_of(kind).filter(pk=firm_jobs[kind.key].pk).update(state=state, **ended, **held, **columns)
    if state == "done":  # and none is older than what it rests on
        surface = firm_jobs["forecast"].surface
        Forecast.objects.filter(surface=surface).update(
            after_fit=firm_jobs["fit"], made_from_version=surface.record_version
        )
