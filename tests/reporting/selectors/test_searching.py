"""Finding things by words: what is found, in which order, and by whom."""

from datetime import date

import pytest

from accounts.models import Membership
from planning.calc.vocabulary import VisitStatus
from reporting.calc.searching import Kind, asked_for
from reporting.selectors.searching import Reader, found, still_seen
from tests.factories import (
    CrewFactory,
    OwnerFactory,
    OwnerPersonFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)


@pytest.fixture
def town(firm):
    """Two owners with a site each, in the firm."""
    school = OwnerFactory(organisation=firm.organisation, name="Schulverband Ödenau", address="9 Office Row")
    yard = SiteFactory(owner=school, name="Mill School", address="4 Weir Lane, AB1 2CD Ödenau")
    SurfaceFactory(site=yard, name="Bus bay")
    SurfaceFactory(site=yard, name="Car park")
    works = SiteFactory(owner=firm.owner, name="Weir Works", address="1 High Street, Lowtown")
    SurfaceFactory(site=works, name="School path")
    return firm


def names(firm, kind, text, who=None):
    reader = Reader(who or firm.viewer, firm.organisation)
    return [str(getattr(row, "name", row)) for row in found(kind, asked_for(text), reader)]


@pytest.mark.parametrize(
    "text",
    [
        "bus bay",
        "BAY",
        "bus weir",
        "bus odenau",
        "Bus Ödenau",
        "bus ab12cd",
        "bus AB1 2CD",
        "bay schulverband",
        "us",
    ],
)
def test_a_surface_is_found_by_its_name_site_address_and_owner(town, text):
    assert "Bus bay" in names(town, Kind.SURFACE, text)


@pytest.mark.parametrize("text", ["bus lowtown", "bus bay nowhere", "", "%", "_"])
def test_every_word_must_occur(town, text):
    assert names(town, Kind.SURFACE, text) == []


def test_the_owners_own_address_finds_the_owner_alone(town):
    assert names(town, Kind.OWNER, "office row") == ["Schulverband Ödenau"]
    assert names(town, Kind.SITE, "office row") == []


def test_the_best_match_comes_first(town):
    ranked = ["School", "School path", "Old school yard", "Preschool", "Old preschool"]
    for name in reversed(ranked):
        SiteFactory(owner=town.owner, name=name, address="")
    SiteFactory(owner=town.owner, name="Elsewhere", address="School Road")

    listed = names(town, Kind.SITE, "school")

    assert listed[:2] == ["School", "School path"]
    assert set(listed[2:4]) == {"Mill School", "Old school yard"}
    assert set(listed[4:6]) == {"Preschool", "Old preschool"}
    assert listed[6:] == ["Elsewhere"]


def test_a_surface_that_is_gone_comes_last_among_equals(town):
    SurfaceFactory(site=town.site, name="Ramp", opened_on=date(2020, 1, 1), removed_on=date(2024, 1, 1))
    SurfaceFactory(site=SiteFactory(owner=town.owner, name="ZZ"), name="Ramp")

    rows = list(found(Kind.SURFACE, asked_for("ramp"), Reader(town.viewer, town.organisation)))

    assert [row.removed_on is None for row in rows] == [True, False]


def test_a_visit_is_found_by_place_crew_and_day(town):
    crew = CrewFactory(organisation=town.organisation, name="Équipe Nord")
    bay = next(iter(found(Kind.SURFACE, asked_for("bus bay"), Reader(town.viewer, town.organisation))))
    visit = VisitFactory(organisation=town.organisation, crew=crew, visit_on=date(2026, 5, 14))
    VisitTaskFactory(visit=visit, surface=bay)
    other = VisitFactory(organisation=town.organisation, visit_on=date(2026, 6, 1))
    VisitTaskFactory(visit=other, surface=town.surface)

    for text in ("bus bay", "equipe", "2026-05-14", "2026-05", "2026-05 nord", "weir nord"):
        assert names(town, Kind.VISIT, text) == [str(visit)], text
    assert names(town, Kind.VISIT, "2026-06 nord") == []


def test_visits_of_every_state_are_found_the_latest_first(town):
    kept = VisitFactory(organisation=town.organisation, visit_on=date(2026, 5, 14))
    off = VisitFactory(
        organisation=town.organisation,
        crew=kept.crew,
        visit_on=date(2026, 5, 20),
        status=VisitStatus.CANCELLED.value,
    )

    assert names(town, Kind.VISIT, "2026-05") == [str(off), str(kept)]


@pytest.mark.parametrize("role", ["viewer", "technician", "coordinator", "admin"])
def test_everybody_of_the_firm_finds_everything_of_it(town, role):
    assert "Bus bay" in names(town, Kind.SURFACE, "bus", getattr(town, role))


@pytest.mark.parametrize("kind", list(Kind))
def test_another_firm_is_never_found(town, kind):
    crew = CrewFactory(organisation=town.organisation, name="Weir")
    VisitTaskFactory(visit=VisitFactory(organisation=town.organisation, crew=crew), surface=town.surface)
    theirs = town.outsider.memberships.get().organisation

    assert list(found(kind, asked_for("weir"), Reader(town.outsider, theirs))) == []
    assert list(found(kind, asked_for("weir"), Reader(town.outsider, town.organisation))) == []


def test_the_firm_acted_for_alone_is_searched(town):
    both = town.viewer
    theirs = town.outsider.memberships.get().organisation
    Membership.objects.create(organisation=theirs, user=both, role=20)
    SiteFactory(owner=OwnerFactory(organisation=theirs), name="Weir elsewhere")

    assert "Weir elsewhere" not in names(town, Kind.SITE, "weir", both)


def test_an_owners_person_finds_their_sites_and_no_visits(town):
    VisitTaskFactory(visit=VisitFactory(organisation=town.organisation), surface=town.surface)
    reader = Reader(town.owner_person, None)

    assert [s.name for s in found(Kind.SITE, asked_for("weir"), reader)] == ["Weir Works"]
    assert [o.pk for o in found(Kind.OWNER, asked_for(town.owner.name), reader)] == [town.owner.pk]
    assert list(found(Kind.SURFACE, asked_for("bus"), reader)) == []
    assert list(found(Kind.VISIT, asked_for(town.site.name), reader)) == []


def test_finding_costs_one_query_however_much_is_found(town, django_assert_num_queries):
    for n in range(12):
        SurfaceFactory(site=town.site, name=f"Lot {n}")

    with django_assert_num_queries(1):
        rows = list(found(Kind.SURFACE, asked_for("lot"), Reader(town.viewer, town.organisation)))
        assert {row.site.owner.name for row in rows} == {town.owner.name}
    assert len(rows) == 12


def test_what_was_opened_is_given_in_its_order_while_it_may_be_seen(town):
    lost = SiteFactory(owner=OwnerPersonFactory().owner)
    marks = [
        ("surface", str(town.surface.pk)),
        ("owner", str(town.owner.pk)),
        ("site", str(lost.pk)),
        ("planet", str(town.site.pk)),
        ("site", str(town.site.pk)),
    ]

    seen = still_seen(marks, Reader(town.viewer, town.organisation))

    assert [(kind, row.pk) for kind, row in seen] == [
        (Kind.SURFACE, town.surface.pk),
        (Kind.OWNER, town.owner.pk),
        (Kind.SITE, town.site.pk),
    ]
