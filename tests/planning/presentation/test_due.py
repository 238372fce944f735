"""Which button gets work done that is due because it was built, and where it leads."""

from datetime import date

import pytest
from django.urls import reverse

from planning.calc.due import Due, DueKind
from planning.presentation.due import step_of
from planning.selectors.due_work import DueWork
from tests.factories import CheckEntryFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db

DAY = date(2026, 6, 1)


def work(kind, place, row=None):
    return DueWork(Due(kind, DAY, str), place, row or place, DAY)


@pytest.mark.parametrize(
    ("kind", "purpose"), [(DueKind.FIRST_TEST, "acceptance"), (DueKind.GUARANTEE, "routine")]
)
def test_a_test_that_is_due_is_recorded_for_its_purpose(kind, purpose):
    surface = SurfaceFactory()

    words, url = step_of(work(kind, surface))

    assert words == "Record a test"
    assert url == f"{reverse('qa:round-create', args=[surface.pk])}?purpose={purpose}"


def test_joints_are_topped_up_by_recording_a_filling():
    surface = SurfaceFactory()

    words, url = step_of(work(DueKind.TOP_UP, surface))

    assert words == "Record the filling"
    assert url == f"{reverse('maintenance:cleaning-create', args=[surface.pk])}?method=joint_refill"


def test_a_cure_is_recorded_at_its_own_check():
    entry = CheckEntryFactory()
    check = entry.construction_check

    words, url = step_of(work(DueKind.CURE, check.record.surface, check))

    assert (words, url) == ("Record the cure", reverse("qa:check-record", args=[check.pk]))


def test_a_notice_is_decided_at_the_agreement_of_its_site():
    site = SiteFactory()

    words, url = step_of(work(DueKind.NOTICE, site))

    assert (words, url) == ("Open the agreement", reverse("planning:agreement-edit", args=[site.pk]))


def test_a_failed_hold_point_leads_to_what_was_found():
    entry = CheckEntryFactory(outcome="failed")
    surface = entry.construction_check.record.surface

    words, url = step_of(work(DueKind.HOLD_POINT, surface, entry))

    assert (words, url) == ("Open the check", entry.get_absolute_url())


@pytest.mark.parametrize(
    ("kind", "page"),
    [
        (DueKind.FIRST_TEST, "qa:round-create"),
        (DueKind.GUARANTEE, "qa:round-create"),
        (DueKind.TOP_UP, "maintenance:cleaning-create"),
    ],
)
def test_every_button_opens_a_page_that_a_technician_may_use(client, firm, kind, page):
    client.force_login(firm.technician)

    _, url = step_of(work(kind, firm.surface))

    assert url.startswith(reverse(page, args=[firm.surface.pk]))
    assert client.get(url).status_code == 200


@pytest.mark.parametrize(("on", "late"), [(DAY, True), (date(2026, 5, 31), True), (date(2026, 6, 2), False)])
def test_work_is_late_from_its_day_on(on, late):
    due = DueWork(Due(DueKind.TOP_UP, on, str), SurfaceFactory.build(site=None), None, DAY)

    assert due.is_late is late


@pytest.mark.parametrize("kind", list(DueKind))
def test_only_the_agreement_is_a_matter_of_those_who_plan(kind):
    assert work(kind, SurfaceFactory.build(site=None)).is_for_planners is (kind is DueKind.NOTICE)
