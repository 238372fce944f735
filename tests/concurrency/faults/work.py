"""What a firm of a drill asks for, and what became of it. Imported once Django is set up."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from types import SimpleNamespace

from django.db import transaction
from django.utils.timezone import now

from accounts.calc.audience import Audience
from accounts.calc.notices import NoticeKind
from accounts.calc.roles import Role
from accounts.models import DigestMail, Membership, Notice, Organisation, OwnerPerson
from accounts.services.digests import ask_for_digests
from maintenance.models import Forecast, PortfolioFit, Recommendation
from maintenance.services.fits import request_fit
from planning.models import WorkPlan
from planning.services.work_plans import request_plan
from qa.models import Surface
from qa.selectors.days import firm_today
from qa.services.changes import bump_record_version
from reporting.models import MessageMail, Sending, SharedLink, Snapshot, ThreadMessage
from reporting.services import messages
from reporting.services.sendings import Mailing, Recipient, send_report
from tests.factories import (
    CrewFactory,
    InfiltrationTestFactory,
    MembershipFactory,
    OrganisationFactory,
    OwnerFactory,
    OwnerPersonFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)

SERVER = "https://office.example/"
SURFACES = 3
KINDS = (Forecast, PortfolioFit, WorkPlan, Sending, MessageMail, DigestMail)
MAILS = (Sending, MessageMail, DigestMail)


@dataclass(frozen=True)
class Line:
    """Of one kind of work: how much was asked for, how much of it is there, and how much of it more than once.

    told: not there, or perhaps not, which the office reads in words.
    """

    asked: int
    done: int
    twice: int = 0
    told: int = 0

    @property
    def is_right(self):
        return self.done == self.asked and not self.twice


def new_firm():
    """A firm with three surfaces that were tested twice, a crew, an office and somebody who reads for the owner."""
    firm = OrganisationFactory()
    MembershipFactory(organisation=firm, role=Role.ADMIN)
    owner = OwnerFactory(organisation=firm)
    OwnerPersonFactory(owner=owner)
    CrewFactory(organisation=firm, latitude_deg=0.4, longitude_deg=0.2)
    site = SiteFactory(owner=owner, latitude_deg=0.41, longitude_deg=0.21)
    for _ in range(SURFACES):
        surface = SurfaceFactory(site=site)
        for year, elapsed_s in ((2022, 90.0), (2024, 300.0)):
            round_ = RoundFactory(surface=surface, tested_on=date(year, 6, 1))
            for more in range(3):
                InfiltrationTestFactory(round=round_, elapsed_s=elapsed_s + 20.0 * more)
    return firm_of(firm.pk)


def firm_of(key):
    firm = Organisation.objects.get(pk=key)
    surfaces = list(Surface.objects.filter(site__organisation=firm).select_related("site"))
    office = Membership.objects.get(organisation=firm).user
    return SimpleNamespace(firm=firm, surfaces=surfaces, site=surfaces[0].site, office=office)


@transaction.atomic
def ask(asking):
    """A forecast of each surface, a fit, a plan, a report by mail, a message, a daily mail; in one commit."""
    firm, office = asking.firm, asking.office
    for surface in asking.surfaces:
        bump_record_version(surface.pk)
    request_fit(organisation=firm)
    request_plan(plan=WorkPlan(organisation=firm, first_on=firm_today(firm), days=7, made_by=office))
    mailing = Mailing((Recipient("report@owner.example"),), SERVER, with_pdf=True)
    since = firm_today(firm) - timedelta(days=365)
    send_report(site=asking.site, audience=Audience.OWNER, since=since, mailing=mailing, by=office)
    message = ThreadMessage(text="We come on Monday.")
    messages.write(message=message, surface=asking.surfaces[0], by=office, from_owner=False, link=SERVER)
    told = Notice.objects.filter(organisation=firm)
    told.update(created_at=now() - timedelta(hours=30), by_mail=True, in_app=True)
    ask_for_digests(now())


def rows_of(model, firm):
    return model.objects.of_organisation(firm)


def settled(firm):
    """Whether nothing is left to be done, rightly or not."""
    unfinished = [rows_of(model, firm).unfinished() for model in KINDS]
    unfinished.append(
        rows_of(Forecast, firm).wanted()
    )  # such as those that are made anew once the fit has ended
    return bool(rows_of(WorkPlan, firm)) and not any(rows.exists() for rows in unfinished)


def outcome(firm, mails):
    """What became of all that was asked for, by kind. mails: what the mail server took."""
    return {
        "forecasts": forecasts(firm),
        "fits": made_once(rows_of(PortfolioFit, firm)),
        "plans": plans(firm),
        "reports": reports(firm),
        "mails": sent(firm, mails),
    }


def forecasts(firm):
    rows = rows_of(Forecast, firm).filter(state="done", rate_now_mm_h__isnull=False)
    wanted = set(rows_of(Forecast, firm).wanted().values_list("pk", flat=True))
    advice = rows_of(Recommendation, firm).filter(status="open").values_list("surface", "action", "method")
    return Line(SURFACES, sum(row.pk not in wanted for row in rows), doubled(advice))


def made_once(rows):
    return Line(1, min(1, rows.filter(state="done").count()), max(0, rows.count() - 1))


def plans(firm):
    rows = rows_of(WorkPlan, firm).filter(result_json__isnull=False)
    told = Notice.objects.filter(organisation=firm, kind=NoticeKind.FINISHED).count()
    line = made_once(rows)
    return Line(1, min(line.done, told), max(line.twice, told - 1))


def reports(firm):
    kept, links = (model.objects.filter(organisation=firm).count() for model in (Snapshot, Sending))
    addresses = SharedLink.objects.filter(document__organisation=firm).count()
    return Line(1, min(kept, links, addresses, 1), max(0, max(kept, links, addresses) - 1))


def sent(firm, mails):
    reader = OwnerPerson.objects.get(owner__organisation=firm).user.email
    came = Counter(mail["To"] for mail in mails)
    told = sum(rows_of(model, firm).filter(state="failed").exclude(error="").count() for model in MAILS)
    expected = {"report@owner.example": 1, reader: 2}
    done = sum(min(came[to], count) for to, count in expected.items())
    twice = sum(max(0, came[to] - count) for to, count in expected.items())
    return Line(sum(expected.values()), done, twice, told)


def doubled(pairs):
    return sum(count - 1 for count in Counter(pairs).values())
