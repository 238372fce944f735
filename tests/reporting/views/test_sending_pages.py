"""Links and sendings as the office uses them: what forms ask, what pages say, and what stays to be read for good."""

from datetime import timedelta

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.jobs import JobState
from core.calc.months import Months
from core.services import jobs
from planning.models import Agreement
from reporting.models import DueReport, ReportRoutine, Sending, SharedLink, Snapshot
from reporting.selectors.links import link_behind
from reporting.services import kept, links
from tests.clock import TODAY
from tests.factories import (
    OwnerPersonFactory,
    SendingFactory,
    SharedLinkFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)
from tests.pages import as_shown
from tests.sending import as_shown as form_on

NO_MAIL = "django.core.mail.backends.console.EmailBackend"


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


@pytest.fixture
def document(firm):
    return kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)


@pytest.fixture
def due(firm):
    Agreement.objects.create(site=firm.site, report_months=Months([TODAY.month]))
    since = TODAY - timedelta(days=100)
    return DueReport.objects.create(site=firm.site, month=TODAY.replace(day=1), since=since)


def text_of(client, url):
    answer = client.get(url)
    assert answer.status_code == 200
    return as_shown(answer.content.decode())


def send(client, url, **changes):
    """The form as it is shown, with what is typed; gives the answer."""
    typed = form_on(client.get(url).content.decode()) | changes
    return client.post(url, {name: value for name, value in typed.items() if value is not None})


def deliver():
    for row in Sending.objects.wanted():
        jobs.run(Sending._meta.label, row.pk)


def test_the_form_offers_who_reads_for_the_owner_and_its_own_address(office, firm):
    firm.owner.email = "board@owner.example"
    firm.owner.save()
    gone = OwnerPersonFactory(owner=firm.owner, user=UserFactory(is_active=False))

    page = text_of(office, reverse("reporting:report-send", args=[firm.site.pk]))

    assert firm.owner_person.email in page
    assert "board@owner.example" in page
    assert gone.user.email not in page


def test_an_owner_without_people_is_told_and_addresses_can_be_typed(office, firm):
    firm.owner.people.all().delete()
    url = reverse("reporting:report-send", args=[firm.site.pk])
    assert f"Nobody reads for {firm.owner} yet" in text_of(office, url)

    answer = send(office, url, addresses="Anna@City.example, ben@city.example\nanna@city.example")

    assert answer.status_code == 302
    assert set(Sending.objects.values_list("address", "for_reader")) == {
        ("anna@city.example", False),
        ("ben@city.example", False),
    }


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"addresses": "anna@city.example nobody"}, "These are no e-mail addresses: nobody"),
        ({"people": None, "addresses": ""}, "Choose somebody who reads for the owner, or type an address"),
        ({"ends_on": "2001-01-01"}, "is over"),
        ({"ends_on": (TODAY + timedelta(days=900)).isoformat()}, "more than 730 days"),
        ({"since": (TODAY + timedelta(days=9)).isoformat()}, "is in the future at the site"),
    ],
)
def test_what_cannot_be_sent_is_said_beside_its_field_and_keeps_what_was_typed(office, firm, typed, words):
    url = reverse("reporting:report-send", args=[firm.site.pk])

    answer = send(office, url, message="Kept words", **typed)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert words in page.replace("\xa0", " ")
    assert "Kept words" in page
    assert not Snapshot.objects.exists()


def test_a_sent_report_is_listed_for_good_with_who_sent_it_to_whom_and_when(office, firm):
    report = reverse("reporting:report-site", args=[firm.site.pk])
    answer = send(office, reverse("reporting:report-send", args=[firm.site.pk]), addresses="a@city.example")
    deliver()

    copy = Snapshot.objects.get()
    assert answer.url == copy.get_absolute_url()
    for url in (answer.url, report, reverse("reporting:sending-list")):
        page = text_of(office, url)
        assert "a@city.example" in page, url
        assert firm.owner_person.email in page
        assert f"by {firm.coordinator}" in page
        assert page.count('<span class="tag tag--good">sent</span>') == 2
    kept.withdraw(document=copy, by=firm.admin, reason="Wrong.")
    assert "a@city.example" in text_of(office, report)


def test_what_was_sent_to_the_owner_opens_for_the_owners_people_without_the_offices_lines(
    office, client, firm
):
    send(office, reverse("reporting:report-send", args=[firm.site.pk]), addresses="a@city.example")
    client.force_login(firm.owner_person)

    for url in (
        Snapshot.objects.get().get_absolute_url(),
        reverse("reporting:report-site", args=[firm.site.pk]),
    ):
        page = text_of(client, url)
        assert "a@city.example" not in page
        assert "Make a link" not in page
    for role in (firm.viewer, firm.technician):
        client.force_login(role)
        assert "a@city.example" not in text_of(client, Snapshot.objects.get().get_absolute_url())


def test_a_failed_mail_shows_on_the_first_pages_until_its_link_is_taken_and_says_by_whom(
    office, firm, document
):
    row = SendingFactory(document=document, state=JobState.FAILED, error="The mail server is gone.")
    links.make_address(link=row.link, to=None)  # by an attempt, which nobody received
    start, listed, sent = (reverse(f"reporting:{name}") for name in ("start", "report-list", "sending-list"))
    for url in (start, listed):
        assert "1 mail with a document could not be sent" in text_of(office, url)
    assert "The mail server is gone." in text_of(office, f"{sent}?failed")

    made = office.post(reverse("reporting:link-address", args=[row.link.pk]))

    secret = made.content.decode().split("/shared/")[1].split("/")[0]
    assert link_behind(secret) == row.link
    assert "could not be sent" not in text_of(office, start)
    assert f"By {firm.coordinator} on" in text_of(office, document.get_absolute_url())
    assert "No mail failed" in text_of(office, f"{sent}?failed")


def test_a_failed_mail_is_sent_again_by_a_button_and_a_sent_one_is_not(office, firm, document):
    row = SendingFactory(document=document, state=JobState.FAILED, error="Gone.")
    url = reverse("reporting:sending-again", args=[row.pk])

    said = [str(message) for message in office.post(url, follow=True).context["messages"]]
    deliver()
    refused = [str(message) for message in office.post(url, follow=True).context["messages"]]

    assert f"The mail to {row.address} is sent again" in said[0]
    assert len(mail.outbox) == 1
    assert "was sent, or waits to be sent" in refused[0]


def test_without_outgoing_mail_every_form_says_so_and_the_link_is_given(office, firm, document, settings):
    settings.EMAIL_BACKEND = NO_MAIL
    urls = [
        reverse("reporting:report-send", args=[firm.site.pk]),
        reverse("reporting:kept-send", args=[document.pk]),
    ]
    for url in (*urls, reverse("reporting:sending-list")):
        assert "This server has no outgoing mail" in text_of(office, url)

    page = text_of(office, send(office, urls[1]).url)

    assert "Take the link" in page
    assert "no outgoing mail. Take its link and pass it on yourself" in page


def test_a_due_report_is_counted_for_who_may_send_and_approved_with_the_next_ones(office, client, firm, due):
    for url in (reverse("reporting:start"), reverse("reporting:report-list")):
        assert "1 report to send by agreement" in text_of(office, url)
    assert str(due) in text_of(office, reverse("reporting:sending-list"))
    url = reverse("reporting:report-due", args=[due.pk])

    answer = send(office, url, by_themselves="on")

    assert answer.status_code == 302
    assert Snapshot.objects.get().since == due.since
    routine = ReportRoutine.objects.get()
    page = text_of(office, reverse("reporting:report-site", args=[firm.site.pk]))
    assert "go by themselves in the months agreed" in page
    assert "What was sent" in text_of(office, url)
    assert "to send by agreement" not in text_of(office, reverse("reporting:start"))
    office.post(reverse("reporting:report-routine-end", args=[routine.pk]))
    assert "go by themselves" not in text_of(office, reverse("reporting:report-site", args=[firm.site.pk]))
    assert send(office, url).status_code == 409


@pytest.mark.parametrize("role", ["viewer", "technician"])
def test_who_may_not_send_is_told_of_nothing_to_send(client, firm, due, role):
    client.force_login(getattr(firm, role))

    for url in (reverse("reporting:start"), reverse("reporting:report-list")):
        page = text_of(client, url)
        assert "to send by agreement" not in page
        assert reverse("reporting:sending-list") not in page


def test_a_due_report_can_be_left_out_this_time(office, firm, due):
    answer = office.post(reverse("reporting:report-due-skip", args=[due.pk]), follow=True)

    assert "is not sent this time" in as_shown(answer.content.decode())
    page = text_of(office, reverse("reporting:report-due", args=[due.pk]))
    assert f"Not sent this time by {firm.coordinator}" in page


def test_a_link_is_made_shown_once_opened_and_revoked(office, client, firm, document):
    made = send(office, reverse("reporting:link-create", args=[document.pk]), for_whom="City drainage")
    assert "Its address is" not in text_of(office, made.url)
    link = SharedLink.objects.get()
    shown = office.post(reverse("reporting:link-address", args=[link.pk])).content.decode()
    secret = shown.split("/shared/")[1].split("/")[0]
    client.logout()
    client.get(reverse("reporting:shared-show", args=[secret]))
    client.force_login(firm.coordinator)

    page = text_of(office, made.url)
    assert secret not in page
    assert "opened 1 time" in page
    assert f"shown to {firm.coordinator}" in page
    assert "opened 1 time" in text_of(office, reverse("reporting:link-list"))
    assert "City drainage" in text_of(office, document.get_absolute_url())
    office.post(reverse("reporting:link-revoke", args=[link.pk]))
    page = text_of(office, made.url)
    assert f"by {firm.coordinator} on" in page
    assert "Make a new address" not in page
    again = office.post(reverse("reporting:link-revoke", args=[link.pk]), follow=True)
    assert "revoked before" in as_shown(again.content.decode())


def test_a_document_of_the_firm_offers_no_link_and_refuses_one(office, firm):
    inner = kept.freeze_handover(surface=firm.surface, audience=Audience.FIRM, by=firm.coordinator)

    assert "Make a link" not in text_of(office, inner.get_absolute_url())
    for route in ("link-create", "kept-send"):
        answer = office.get(reverse(f"reporting:{route}", args=[inner.pk]))
        assert answer.status_code == 409
        assert "for people of the firm" in answer.content.decode()


def test_an_inspectors_link_takes_all_sites_of_an_owner_and_needs_at_least_one(office, firm):
    SiteFactory(owner=firm.owner)
    url = reverse("reporting:inspector-create")

    empty = send(office, url, for_whom="City")
    turned = send(
        office, url, for_whom="City", owner=str(firm.owner.pk), since=TODAY.isoformat(), until="2001-01-01"
    )
    made = send(office, url, for_whom="City", owner=str(firm.owner.pk))

    assert "Choose at least one site." in empty.content.decode()
    assert "The period cannot end before it begins" in turned.content.decode()
    assert made.status_code == 302
    assert SharedLink.objects.get().shared_sites.count() == 2


def test_lists_of_links_and_sendings_take_as_many_queries_for_many_as_for_one(office, firm, document):
    urls = [
        reverse("reporting:link-list"),
        reverse("reporting:sending-list"),
        reverse("reporting:report-site", args=[firm.site.pk]),
        document.get_absolute_url(),
        reverse("reporting:start"),
    ]

    def add(count):
        for _ in range(count):
            sending = SendingFactory(document=document, state=JobState.FAILED, asked_by=UserFactory())
            links.note_opening(link_id=sending.link_id, part="page")
            links.revoke_link(
                link=SharedLinkFactory(document=document, made_by=UserFactory()), by=UserFactory()
            )
            DueReport.objects.create(
                site=SiteFactory(owner=firm.owner), month=TODAY.replace(day=1), since=TODAY
            )

    def queries():
        found = []
        for url in urls:
            office.get(url)
            with CaptureQueriesContext(connection) as seen:
                office.get(url)
            found.append(len(seen))
        return found

    SurfaceFactory(site=firm.site)
    add(1)
    few = queries()
    add(3)

    assert queries() == few


def test_a_link_tells_when_it_has_run_out(office, firm, document):
    link = SharedLinkFactory(document=document, expires_at=now())

    assert "expired" in text_of(office, link.get_absolute_url())
    answer = office.post(reverse("reporting:link-address", args=[link.pk]))
    assert answer.status_code == 409
    assert "This link has ended: expired" in answer.content.decode()


def test_a_failed_mail_whose_link_ended_leaves_nothing_to_do(office, firm, document):
    row = SendingFactory(document=document, state=JobState.FAILED, error="Gone.")
    failed = f"{reverse('reporting:sending-list')}?failed"
    assert row.address in text_of(office, failed)

    for end in ({"expires_at": now()}, {"expires_at": now() + timedelta(days=9), "revoked_at": now()}):
        SharedLink.objects.update(**end)
        assert row.address not in text_of(office, failed)


def test_everything_that_was_sent_of_one_site_has_a_list_of_its_own(office, firm, document):
    here = SendingFactory(document=document)
    surface = SurfaceFactory(site=SiteFactory(owner=firm.owner))
    other = kept.freeze_handover(surface=surface, audience=Audience.OWNER, by=firm.coordinator)
    there = SendingFactory(document=other)
    url = reverse("reporting:sending-list")

    page = text_of(office, f"{url}?site={firm.site.pk}")

    assert here.address in page
    assert there.address not in page
    assert f"Sent of {firm.site}" in page
    assert office.get(f"{url}?site=no-such-site").status_code == 404
