"""Finds as lines."""

from datetime import date

import pytest

from planning.calc.vocabulary import VisitStatus
from reporting.calc.searching import Kind
from reporting.selectors.found_lines import SITES_NAMED, found_line, found_lines
from tests.factories import OwnerFactory, SiteFactory, SurfaceFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db


def test_a_site_is_told_by_address_and_owner():
    owner = OwnerFactory(name="Harbour board")
    line = found_line(Kind.SITE, SiteFactory(owner=owner, name="Quay", address="1 Quay Street"))

    assert (line.title, line.about, line.tag) == ("Quay", "1 Quay Street, Harbour board", "")


def test_what_is_not_known_leaves_no_gap():
    line = found_line(Kind.SITE, SiteFactory(owner=OwnerFactory(name="Harbour board"), address=""))

    assert line.about == "Harbour board"


def test_a_surface_that_is_gone_says_so():
    surface = SurfaceFactory(opened_on=date(2020, 1, 1), removed_on=date(2024, 1, 1))

    line = found_line(Kind.SURFACE, surface)

    assert line.tag == "removed"
    assert surface.site.name in line.about
    assert line.url == surface.get_absolute_url()


def test_a_visit_names_its_day_and_a_few_of_its_sites(firm):
    visit = VisitFactory(organisation=firm.organisation, visit_on=date(2026, 5, 14))
    for n in range(SITES_NAMED + 2):
        site = SiteFactory(owner=firm.owner, name=f"Site {n}")
        VisitTaskFactory(visit=visit, surface=SurfaceFactory(site=site))

    line = found_line(Kind.VISIT, visit)

    assert "14\u00a0May\u00a02026" in line.title
    assert line.about == "Site 0, Site 1, Site 2, 2 more"


def test_a_cancelled_visit_says_so(firm):
    visit = VisitFactory(organisation=firm.organisation, status=VisitStatus.CANCELLED.value)

    assert found_line(Kind.VISIT, visit).tag == visit.get_status_display().lower()


def test_many_rows_are_as_many_lines_in_their_order():
    rows = OwnerFactory.create_batch(3)

    assert [line.title for line in found_lines(Kind.OWNER, rows)] == [row.name for row in rows]
