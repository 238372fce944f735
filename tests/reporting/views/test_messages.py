"""The thread of a surface and the days of visits, as the owner's people and the firm read and write them."""

from datetime import timedelta

import pytest
from django.urls import reverse

from qa.models import Surface
from reporting.models import ThreadMessage
from reporting.services import messages
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    OwnerFactory,
    OwnerPersonFactory,
    QuoteLineFactory,
    RoundFactory,
    SurfaceFactory,
    ThreadMessageFactory,
    VisitFactory,
    VisitTaskFactory,
)

SOON = TODAY + timedelta(days=5)


@pytest.fixture
def page(client, firm):
    """The page of the surface, or another, as a person reads it."""

    def read(who, url=None):
        client.force_login(who)
        return client.get(url or firm.surface.get_absolute_url()).content.decode()

    return read


@pytest.fixture
def write(client, firm):
    def sent(who, text, surface=None):
        client.force_login(who)
        url = reverse("reporting:message-create", args=[(surface or firm.surface).pk])
        return client.post(url, {"text": text})

    return sent


def test_a_question_is_read_and_answered_by_the_office_and_the_answer_read_by_the_owner(firm, page, write):
    assert write(firm.owner_person, "Is moss a problem?").status_code == 302

    start = page(firm.coordinator, reverse("reporting:start"))
    assert "Questions from owners" in start
    assert "Is moss a problem?" in start
    assert "waits for an answer" in page(firm.coordinator)

    write(firm.technician, "Not yet. We brush it off in March.")

    assert "Questions from owners" not in page(firm.coordinator, reverse("reporting:start"))
    read_by_owner = page(firm.owner_person)
    assert "We brush it off in March." in read_by_owner
    assert "waits for an answer" not in read_by_owner


def test_who_writes_is_on_the_side_they_act_for(firm, write):
    write(firm.owner_person, "Ours")
    write(firm.technician, "Theirs")

    assert list(ThreadMessage.objects.values_list("text", "from_owner")) == [
        ("Ours", True),
        ("Theirs", False),
    ]


def test_somebody_of_another_firm_who_reads_for_this_owner_writes_as_the_owner(firm, write):
    OwnerPersonFactory(owner=firm.owner, user=firm.outsider)

    write(firm.outsider, "From the owner's side")

    assert ThreadMessage.objects.get().from_owner


def test_a_viewer_reads_the_thread_and_is_offered_nothing_to_write(firm, page, write):
    ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person)

    shown = page(firm.viewer)

    assert "Does the puddle by the gate matter?" in shown
    assert reverse("reporting:message-create", args=[firm.surface.pk]) not in shown
    assert "Needs no answer" not in shown
    assert write(firm.viewer, "x").status_code == 403


def test_what_is_typed_shows_as_text_and_lines_stay_lines(firm, page, write):
    write(firm.owner_person, "<u>x</u>\nsecond line")

    shown = page(firm.coordinator)

    assert "&lt;u&gt;x&lt;/u&gt;<br>second line" in shown
    assert "<u>x</u>" not in shown


def test_an_empty_message_is_refused_beside_its_field_and_a_flood_above_the_form(firm, write):
    empty = write(firm.owner_person, "  ")
    assert (empty.status_code, ThreadMessage.objects.count()) == (200, 0)
    assert "This field is required" in empty.content.decode()

    ThreadMessageFactory.create_batch(
        messages.MOST_AN_HOUR, surface=firm.surface, recorded_by=firm.owner_person
    )
    flood = write(firm.owner_person, "One more")
    assert flood.status_code == 409
    assert "phone the office" in flood.content.decode()
    assert "One more" in flood.content.decode()


def test_a_withdrawn_message_is_read_by_its_own_side_alone(client, firm, page):
    slip = ThreadMessageFactory(
        surface=firm.surface, recorded_by=firm.technician, from_owner=False, text="their-price-is-too-low"
    )
    client.force_login(firm.coordinator)
    client.post(reverse("reporting:message-void", args=[slip.pk]), {"reason": "meant-for-us"})

    read_by_owner, read_by_firm = page(firm.owner_person), page(firm.viewer)

    assert "This message was withdrawn." in read_by_owner
    for secret in ("their-price-is-too-low", "meant-for-us"):
        assert secret not in read_by_owner
        assert secret in read_by_firm


def test_the_page_to_withdraw_shows_the_other_side_nothing_of_what_was_withdrawn(client, firm):
    ours, theirs = (
        ThreadMessageFactory(
            surface=firm.surface, recorded_by=by, from_owner=by == firm.owner_person, text="a-withdrawn-text"
        )
        for by in (firm.technician, firm.owner_person)
    )
    for message in (ours, theirs):
        messages.withdraw(message=message, by=message.recorded_by, reason="Wrong surface.")

    for who, others, own in ((firm.owner_person, ours, theirs), (firm.admin, theirs, ours)):
        client.force_login(who)
        refused = client.get(reverse("reporting:message-void", args=[others.pk]))
        assert refused.status_code == 403
        assert "a-withdrawn-text" not in refused.content.decode()
        again = client.post(reverse("reporting:message-void", args=[own.pk]), {"reason": "x"})
        assert again.status_code == 409


@pytest.fixture
def buyer(firm):
    """Who reads for the owner that bought the site, after the seller and the firm wrote to one another."""
    ThreadMessageFactory(
        surface=firm.surface,
        recorded_by=firm.technician,
        from_owner=False,
        text="told-to-the-seller",
    )
    ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person, text="asked-by-the-seller")
    slip = ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person, text="withdrawn-by-them")
    messages.withdraw(message=slip, by=firm.owner_person, reason="reason-of-the-seller")
    firm.site.owner = OwnerFactory(organisation=firm.organisation, name="The buyer")
    firm.site.save()
    return OwnerPersonFactory(owner=firm.site.owner).user


OF_THE_SELLER = ("asked-by-the-seller", "told-to-the-seller", "withdrawn-by-them", "reason-of-the-seller")


def test_whoever_buys_a_site_reads_nothing_of_the_thread_of_the_seller(client, firm, buyer, page):
    shown = page(buyer)

    for secret in (*OF_THE_SELLER, "was withdrawn", "waits for an answer"):
        assert secret not in shown
    for message in ThreadMessage.objects.all():
        assert client.get(reverse("reporting:message-void", args=[message.pk])).status_code == 404


def test_whoever_sold_a_site_reads_nothing_of_the_thread_of_the_buyer(client, firm, buyer, write):
    write(buyer, "asked-by-the-buyer")
    theirs = ThreadMessage.objects.get(text="asked-by-the-buyer")
    client.force_login(firm.owner_person)

    assert client.get(reverse("reporting:message-void", args=[theirs.pk])).status_code == 404
    assert client.get(firm.surface.get_absolute_url()).status_code == 404


def test_the_firm_reads_the_threads_of_both_owners_and_whose_each_is(firm, buyer, page, write):
    write(buyer, "asked-by-the-buyer")

    shown = " ".join(page(firm.technician).split())

    assert all(part in shown for part in ("asked-by-the-seller", "told-to-the-seller", "asked-by-the-buyer"))
    assert f"{firm.owner_person} for {firm.owner}," in shown
    assert f"{firm.technician} to {firm.owner}," in shown
    assert f"{buyer} for The buyer," in shown
    start = " ".join(page(firm.coordinator, reverse("reporting:start")).split())
    assert f"{firm.owner_person} for {firm.owner}," in start
    assert f"{buyer} for The buyer," in start


def test_nobody_withdraws_what_the_other_side_wrote(client, firm):
    asked = ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person)
    told = ThreadMessageFactory(surface=firm.surface, recorded_by=firm.technician, from_owner=False)

    for who, message in ((firm.admin, asked), (firm.owner_person, told)):
        client.force_login(who)
        url = reverse("reporting:message-void", args=[message.pk])
        assert client.post(url, {"reason": "x"}).status_code == 403

    assert ThreadMessage.objects.active().count() == 2


def test_how_mails_stand_is_told_to_the_firm_and_not_to_the_owner(
    firm, page, write, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        write(firm.technician, "We come on Monday.")

    assert "Mailed to 1 person." in page(firm.coordinator)
    assert "Mailed to" not in page(firm.owner_person)


def test_without_anybody_who_reads_for_the_owner_the_firm_is_told_that_nobody_was_mailed(firm, page, write):
    firm.owner.people.all().delete()
    write(firm.technician, "We come on Monday.")

    assert "nobody reads for this owner yet" in page(firm.coordinator)


def test_an_owner_reads_nothing_of_the_threads_of_other_owners(firm, client):
    theirs = SurfaceFactory(site__owner__organisation=firm.organisation)
    ThreadMessageFactory(surface=theirs, text="a-question-of-others")
    client.force_login(firm.owner_person)

    assert client.get(theirs.get_absolute_url()).status_code == 404
    assert "a-question-of-others" not in client.get(firm.surface.get_absolute_url()).content.decode()


def test_a_long_thread_takes_no_more_queries(firm, client, django_assert_max_num_queries):
    client.force_login(firm.coordinator)
    ThreadMessageFactory(surface=firm.surface, recorded_by=firm.owner_person)
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as few:
        client.get(firm.surface.get_absolute_url())
    ThreadMessageFactory.create_batch(9, surface=firm.surface, recorded_by=firm.owner_person)

    with django_assert_max_num_queries(len(few)):
        client.get(firm.surface.get_absolute_url())


@pytest.fixture
def visit(firm):
    crew = CrewFactory(organisation=firm.organisation, name="crew-with-a-name")
    visit = VisitFactory(crew=crew, visit_on=SOON, note="note-for-the-crew")
    VisitTaskFactory(
        visit=visit, surface=firm.surface, action="clean", method="vacuum", begins_min=540, ends_min=690
    )
    other = SurfaceFactory(site__owner__organisation=firm.organisation, name="surface-of-another-owner")
    VisitTaskFactory(visit=visit, surface=other, action="test")
    return visit


@pytest.mark.usefixtures("visit")
def test_an_owner_reads_day_hours_and_work_of_a_visit_but_neither_crew_nor_note_nor_other_places(firm, page):
    for url in (firm.surface.get_absolute_url(), firm.site.get_absolute_url()):
        shown = page(firm.owner_person, url)
        assert "09:00 to 11:30" in shown
        assert "acuum sweeping" in shown
        for secret in ("crew-with-a-name", "note-for-the-crew", "surface-of-another-owner"):
            assert secret not in shown

    assert "Somebody comes next on" in page(firm.owner_person, reverse("reporting:start"))


@pytest.mark.usefixtures("visit")
def test_the_firm_reads_who_comes_too(firm, page):
    assert "crew-with-a-name" in page(firm.viewer)


@pytest.mark.parametrize("column", [{"status": "cancelled"}, {"visit_on": TODAY - timedelta(days=1)}])
def test_a_visit_that_was_cancelled_or_is_over_is_not_ahead(firm, page, visit, column):
    type(visit).objects.filter(pk=visit.pk).update(**column)

    assert "No visit is planned at present" in page(firm.owner_person)


def test_a_quote_for_the_surface_waits_on_its_page_for_the_owner_alone(firm, page):
    line = QuoteLineFactory(
        version__quote__owner=firm.owner,
        version__quote__made_by=firm.admin,
        version__valid_until=SOON,
        surface=firm.surface,
        site=firm.site,
    )
    type(line.version).objects.update(state="sent", sent_at="2026-06-01T00:00:00Z", sent_by=firm.admin)

    assert "Quotes that wait for your answer" in page(firm.owner_person)
    assert "Quotes that wait for your answer" not in page(firm.coordinator)
    other = Surface.objects.get(pk=SurfaceFactory(site=firm.site).pk)
    assert "Quotes that wait for your answer" not in page(firm.owner_person, other.get_absolute_url())


def test_a_cleaning_without_a_test_after_it_says_that_its_gain_is_not_known(firm, page):
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - timedelta(days=3), method="vacuum")

    shown = page(firm.owner_person)

    assert "What was done, and what it gave" in shown
    assert "no test was made after it" in shown


def test_papers_to_take_away_are_listed_at_the_site(firm, page):
    first = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=900), purpose="acceptance")
    older = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=400), purpose="routine")
    newest = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=9), purpose="routine")
    empty = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1), purpose="routine")
    for row in (first, older, newest):
        InfiltrationTestFactory(round=row)

    shown = page(firm.owner_person, firm.site.get_absolute_url())

    offered = [
        row.pk for row in (first, older, newest, empty) if f"/rounds/{row.pk}/certificate.pdf" in shown
    ]
    assert offered == [first.pk, newest.pk]
    assert reverse("reporting:handover-download", args=[firm.surface.pk]) in shown
