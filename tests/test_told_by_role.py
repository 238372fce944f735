"""Every kind of notice with every role: who is told, with everything switched on, and what opens for them."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.notices import NoticeKind, Way, kinds_for
from accounts.calc.roles import Role
from accounts.models import DigestMail, Notice
from accounts.selectors.notices import notice_places, unread_count
from accounts.services import notice_choices
from core.calc.jobs import JobState
from exchange.calc.payloads import ImportReport
from exchange.calc.steps import ImportStep
from exchange.models import DataImport
from exchange.services.finished_notices import tell_imported
from fieldwork.calc.phones import Contact, Held, HeldState
from fieldwork.services.phones import note_contact
from maintenance.calc.vocabulary import SurfaceState
from maintenance.services.limit_notices import tell_limit
from operations.services.failure_notices import tell_failures
from planning.calc.vocabulary import Answer
from planning.models import Visit
from planning.services import quotes, visits
from reporting.models import DueReport, ThreadMessage
from reporting.services import messages
from reporting.services.notices import tell_due, tell_ending_links
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    MembershipFactory,
    OwnerFactory,
    OwnerPersonFactory,
    QuoteLineFactory,
    SharedLinkFactory,
    SiteFactory,
    SurfaceFactory,
)

EVERYBODY = (
    "viewer",
    "technician",
    "second_technician",
    "coordinator",
    "admin",
    "owner_person",
    "other_reader",
    "outsider",
)
OFFICE = {"coordinator", "admin"}
# Told by hand: whom each happening below concerns and who may see it, but for who did it.
TOLD = {
    NoticeKind.VISIT: {"technician"},
    NoticeKind.LIMIT: {"viewer", "technician", "second_technician", "coordinator", "admin"},
    NoticeKind.REPORT: OFFICE,
    NoticeKind.APPROVAL: {"owner_person"},
    NoticeKind.ANSWER: {"coordinator"},
    NoticeKind.QUESTION: OFFICE,
    NoticeKind.REPLY: {"owner_person"},
    NoticeKind.ENTRY: OFFICE,
    NoticeKind.LINK: OFFICE,
    NoticeKind.FAILED: {"admin"},
    NoticeKind.FINISHED: {"technician"},
}


@pytest.fixture
def world(firm):
    """The firm with a second technician and a second owner, whose person reads other sites; all is switched on."""
    firm.second_technician = MembershipFactory(organisation=firm.organisation, role=Role.TECHNICIAN).user
    other = OwnerFactory(organisation=firm.organisation)
    SurfaceFactory(site=SiteFactory(owner=other))
    firm.other_reader = OwnerPersonFactory(owner=other).user
    for name in EVERYBODY:
        user = getattr(firm, name)
        for place in notice_places(user):
            ways = {kind: Way(in_app=True, by_mail=True) for kind in kinds_for(place.roles)}
            notice_choices.choose(
                user=user, organisation=place.organisation, mail_on=True, mail_hour=7, ways=ways
            )
    return firm


def a_visit(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.add(firm.technician)
    CrewFactory(organisation=firm.organisation).people.add(firm.second_technician)
    visit = Visit(organisation=firm.organisation, crew=crew, visit_on=TODAY + timedelta(days=3))
    visits.add_task(visit=visits.save_visit(visit=visit), surface=firm.surface, action="test")


def a_limit(firm):
    tell_limit(surface=firm.surface, state=SurfaceState.BELOW_LIMIT, chance=0.64)


def a_report(firm):
    tell_due(due=DueReport.objects.create(site=firm.site, month=TODAY.replace(day=1), since=TODAY))


def a_draft(firm, state="draft"):
    return QuoteLineFactory(
        version__quote__owner=firm.owner,
        version__quote__made_by=firm.coordinator,
        version__state=state,
        surface=firm.surface,
        site=firm.site,
    ).version


def an_approval(firm):
    quotes.send(version=a_draft(firm), by=firm.coordinator)


def an_answer(firm):
    quotes.decide(version=a_draft(firm, "sent"), by=firm.owner_person, answer=Answer.APPROVED)


def write(firm, by, from_owner):
    messages.write(
        message=ThreadMessage(text="Does it matter?"),
        surface=firm.surface,
        by=by,
        from_owner=from_owner,
        link="https://office.example/",
    )


def a_question(firm):
    write(firm, firm.owner_person, from_owner=True)


def a_reply(firm):
    write(firm, firm.technician, from_owner=False)


def an_entry(firm):
    held = Held(
        id=uuid4(), made_at=now(), state=HeldState.PARKED.value, title="Test round", reason="Too wet."
    )
    note_contact(
        person=firm.technician,
        firms={str(firm.organisation.pk): firm.organisation},
        acting_for=firm.organisation,
        contact=Contact(device=uuid4(), now=now(), held=(held,)),
        at=now(),
    )


def a_link(firm):
    in_days = {"ends_on": TODAY + timedelta(days=5), "expires_at": now() + timedelta(days=5)}
    SharedLinkFactory(
        organisation=firm.organisation, document=None, since=TODAY, address_made_at=now(), **in_days
    )
    tell_ending_links(now())


def a_failure(firm):
    DigestMail.objects.create(
        organisation=firm.organisation,
        user=firm.coordinator,
        on=TODAY,
        due_at=now(),
        state=JobState.FAILED,
        finished_at=now(),
    )
    tell_failures(now())


def an_import(firm):
    row = DataImport.objects.create(
        organisation=firm.organisation,
        made_by=firm.technician,
        names="tests.csv",
        step=ImportStep.STORED.value,
        report=ImportReport(),
    )
    tell_imported(data_import=row)


HAPPENINGS = {
    NoticeKind.VISIT: a_visit,
    NoticeKind.LIMIT: a_limit,
    NoticeKind.REPORT: a_report,
    NoticeKind.APPROVAL: an_approval,
    NoticeKind.ANSWER: an_answer,
    NoticeKind.QUESTION: a_question,
    NoticeKind.REPLY: a_reply,
    NoticeKind.ENTRY: an_entry,
    NoticeKind.LINK: a_link,
    NoticeKind.FAILED: a_failure,
    NoticeKind.FINISHED: an_import,
}


def test_every_kind_is_held_to_this_table():
    assert set(TOLD) == set(HAPPENINGS) == set(NoticeKind)


@pytest.mark.parametrize("kind", list(NoticeKind))
def test_those_are_told_whom_it_concerns_and_nobody_else(world, kind):
    HAPPENINGS[kind](world)

    told = Notice.objects.filter(kind=kind)
    assert set(told.values_list("user", flat=True)) == {getattr(world, name).pk for name in TOLD[kind]}
    counts = {name: unread_count(getattr(world, name)) for name in EVERYBODY}
    assert {name for name, count in counts.items() if count} == TOLD[kind]


@pytest.mark.parametrize("kind", list(NoticeKind))
def test_each_notice_opens_a_page_that_its_reader_may_see_and_is_read_then(world, client, kind):
    HAPPENINGS[kind](world)

    for name in sorted(TOLD[kind]):
        user = getattr(world, name)
        client.force_login(user)
        notice = Notice.objects.get(user=user, kind=kind)
        answer = client.get(notice.get_absolute_url())
        assert answer.status_code == 302, (kind, name)
        assert answer["Location"] == notice.path
        assert client.get(notice.path).status_code == 200, (kind, name)
        assert unread_count(user) == 0


@pytest.mark.parametrize("kind", list(NoticeKind))
def test_nobody_opens_a_notice_of_somebody_else(world, client, kind):
    HAPPENINGS[kind](world)
    notice = Notice.objects.filter(kind=kind).first()

    for name in EVERYBODY:
        if getattr(world, name).pk != notice.user_id:
            client.force_login(getattr(world, name))
            assert client.get(notice.get_absolute_url()).status_code == 404, (kind, name)
    notice.refresh_from_db()
    assert notice.read_at is None


def test_what_is_gone_says_so_and_leads_to_the_list(world, client):
    an_import(world)
    notice = Notice.objects.get()
    DataImport.objects.all().delete()
    client.force_login(world.technician)

    answer = client.get(notice.get_absolute_url(), follow=True)

    assert answer.status_code == 200
    assert "is not there any more" in answer.content.decode()
    assert answer.redirect_chain[0][0].startswith(reverse("accounts:notice-list"))


def test_a_person_of_the_firm_who_reads_for_its_owner_too_opens_each_as_whom_it_was_told(world, client):
    OwnerPersonFactory(owner=world.owner, user=world.coordinator)
    notice_choices.choose(
        user=world.coordinator,
        organisation=world.organisation,
        mail_on=True,
        mail_hour=7,
        ways={NoticeKind.REPLY: Way(in_app=True, by_mail=False)},
    )
    a_reply(world)
    client.force_login(world.coordinator)

    client.get(Notice.objects.get(user=world.coordinator).get_absolute_url())

    assert client.session["current_organisation"] == "own-sites"
