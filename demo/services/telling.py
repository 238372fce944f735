"""What the invented firm told the owner whose person signs in: a report behind a link, a talk about a surface."""

from datetime import timedelta

from django.utils.timezone import now

from accounts.calc.audience import Audience
from accounts.models import Organisation, Owner, User
from core.calc.months import Months
from planning.models import Agreement
from qa.models import Site, Surface
from reporting.models import SharedLink, ThreadMessage
from reporting.services import due_reports, kept, links, messages

A_YEAR, YEARS = timedelta(days=365), timedelta(days=3 * 365)
TALK = (
    (
        True,
        "Water stood by the gate for an hour after the storm on Monday. Is that something to worry about?",
    ),
    (
        False,
        "We tested there last: the strip by the gate takes water slower than the rest. It is on the next visit.",
    ),
    (True, "Good. The yard is free in the afternoons from three o'clock."),
)


def tell(firm: Organisation, by: User) -> None:
    """Through the services that people use. A report month that has come has its report proposed."""
    owner = Owner.objects.of_organisation(firm).filter(people__isnull=False).first()
    if owner is None:
        return
    sites = list(owner.sites.select_related("organisation", "owner").order_by("name"))
    _talk(sites[0], owner.people.select_related("user").get().user, by)
    _report(sites[0], by)
    _inspectors_link(firm, sites, by)
    _propose(owner)


def _talk(site: Site, person: User, by: User) -> None:
    surface = Surface.objects.select_related("site__owner").filter(site=site).order_by("name").first()
    if surface is None:
        return
    for from_owner, text in TALK:
        message = ThreadMessage(text=text)
        who = person if from_owner else by
        messages.write(message=message, surface=surface, by=who, from_owner=from_owner, link="")


def _report(site: Site, by: User) -> None:
    """A year's report, kept and shared as a link that somebody passed on."""
    document = kept.freeze_report(site=site, audience=Audience.OWNER, since=site.today() - A_YEAR, by=by)
    last = links.usual_last_day(site.organisation)
    link = SharedLink(for_whom="The school's governors (invented)", ends_on=last)
    links.make_address(link=links.share_document(link=link, document=document, by=by), to=by)


def _inspectors_link(firm: Organisation, sites: list[Site], by: User) -> None:
    link = SharedLink(
        for_whom="Stormwater office of Ossenfell (invented)",
        since=sites[0].today() - YEARS,
        ends_on=links.usual_last_day(firm),
    )
    shared = links.share_sites(link=link, organisation=firm, sites=sites, by=by)
    links.make_address(link=shared, to=by)


def _propose(owner: Owner) -> None:
    """Its agreements were written down a year ago, and ask for a report in each quarter."""
    for agreement in Agreement.objects.filter(site__owner=owner):
        agreement.report_months = Months((1, 4, 7, 10))
        agreement.created_at = now() - A_YEAR
        agreement.save()
    due_reports.propose_reports(now())
