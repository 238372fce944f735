"""What the invented firm told its owner, and what its crew's phones told of themselves."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from demo.services import phones, telling
from fieldwork.calc.phones import HeldState
from fieldwork.models import HeldEntry, Phone
from planning.models import Agreement
from reporting.models import DueReport, SharedLink, Snapshot, ThreadMessage
from tests.clock import TODAY
from tests.factories import SurfaceFactory


@pytest.fixture
def agreed(firm):
    since = TODAY - timedelta(days=700)
    Agreement.objects.create(
        site=firm.site, since=since, tests_per_year=1, cleanings_per_year=0, currency="EUR"
    )
    return firm


def test_the_owner_has_a_report_behind_a_link_and_the_inspector_a_link_to_the_sites(agreed):
    telling.tell(agreed.organisation, agreed.coordinator)

    report = Snapshot.objects.get()
    assert (report.site, report.until - report.since) == (agreed.site, timedelta(days=365))
    to_report = SharedLink.objects.exclude(document=None).get()
    to_sites = SharedLink.objects.get(document=None)
    assert to_report.document == report
    assert [one.site for one in to_sites.shared_sites.all()] == [agreed.site]
    assert all(link.shown_to == agreed.coordinator for link in (to_report, to_sites))


def test_the_last_word_of_the_owner_waits_for_the_office(agreed, client):
    telling.tell(agreed.organisation, agreed.coordinator)

    assert [one.from_owner for one in ThreadMessage.objects.all()] == [True, False, True]
    assert ThreadMessage.objects.waiting().get().recorded_by == agreed.owner_person
    client.force_login(agreed.owner_person)
    page = client.get(agreed.surface.get_absolute_url(), follow=True)
    assert "after the storm on Monday" in page.content.decode()


def test_a_report_month_that_has_come_has_its_report_proposed_where_none_was_sent(agreed):
    other = SurfaceFactory(
        site__owner=agreed.owner, site__organisation=agreed.organisation, site__name="Yonder"
    ).site
    Agreement.objects.create(site=other, tests_per_year=1, cleanings_per_year=0, currency="EUR")

    telling.tell(agreed.organisation, agreed.coordinator)

    assert DueReport.objects.get().site == other


def test_a_firm_whose_owners_have_nobody_is_told_nothing(firm):
    firm.owner.people.all().delete()

    telling.tell(firm.organisation, firm.coordinator)

    assert not SharedLink.objects.exists()
    assert not ThreadMessage.objects.exists()


@pytest.fixture
def told(firm):
    for number in range(4):
        SurfaceFactory(site=firm.site, name=f"Yard {number}")
    phones.phones(firm.organisation, firm.technician, now(), seed=1)
    return firm


def test_one_phone_holds_work_and_a_refusal_and_the_old_one_lost_an_entry(told):
    new, old = Phone.objects.order_by("-last_contact_at")

    assert [each.state for each in old.held.all()] == [HeldState.LOST]
    assert sorted(each.state for each in new.held.all()) == [HeldState.PARKED, *[HeldState.WAITING] * 3]
    assert HeldEntry.objects.open().count() == 5


def test_the_office_reads_of_them_that_they_are_invented(told, client):
    client.force_login(told.coordinator)

    page = client.get(reverse("fieldwork:phone-list")).content.decode()

    assert page.count("(invented)") >= 2
    assert "more than the joints of this area hold" in page


def test_what_phones_hold_is_the_same_each_time(told):
    before = set(HeldEntry.objects.values_list("entry", flat=True))
    phones.phones(told.organisation, told.technician, now(), seed=1)

    assert set(HeldEntry.objects.values_list("entry", flat=True)) == before
