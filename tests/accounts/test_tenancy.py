"""Who reaches which rows, against the rule told in plain words, over invented firms with people in several of them."""

import random
from itertools import pairwise
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404

from accounts.calc.roles import FIRM_ROLES, Role
from accounts.models import Invitation, Membership, Organisation, Owner, OwnerPerson, User
from accounts.models.tenancy import get_for_user, require_role
from maintenance.models import CleaningEvent, Recommendation
from planning.models import Crew, Visit, VisitTask
from qa.models import InfiltrationTest, Layer, Location, OwnLimit, Site, Surface, TestRound
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    MembershipFactory,
    OrganisationFactory,
    OwnerFactory,
    OwnerPersonFactory,
    OwnLimitFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db

# What a row belongs to, told by hand: its firm, and the owner whose people may read it, if they may.
SURFACE = (lambda surface: surface.site.organisation), (lambda surface: surface.site.owner)


def of_surface(path):
    def surface(row):
        for step in path.split("."):
            row = getattr(row, step)
        return row

    return (lambda row: surface(row).site.organisation), (lambda row: surface(row).site.owner)


def nobody(row):
    return None


BELONGS = {
    Organisation: ((lambda row: row), nobody),
    Owner: ((lambda row: row.organisation), (lambda row: row)),
    Crew: ((lambda row: row.organisation), nobody),
    Visit: ((lambda row: row.organisation), nobody),
    VisitTask: ((lambda row: row.visit.organisation), (lambda row: row.surface.site.owner)),
    OwnLimit: ((lambda row: row.organisation), nobody),
    Membership: ((lambda row: row.organisation), nobody),
    OwnerPerson: ((lambda row: row.owner.organisation), nobody),
    Invitation: ((lambda row: row.organisation), nobody),
    Site: ((lambda row: row.organisation), (lambda row: row.owner)),
    Surface: SURFACE,
    Layer: of_surface("surface"),
    Location: of_surface("surface"),
    TestRound: of_surface("surface"),
    InfiltrationTest: of_surface("round.surface"),
    CleaningEvent: of_surface("surface"),
    # An owner reads what was released, never the advice itself.
    Recommendation: (of_surface("surface")[0], nobody),
}


def fill(owner):
    surface = SurfaceFactory(site=SiteFactory(owner=owner))
    round_ = RoundFactory(surface=surface)
    InfiltrationTestFactory(round=round_)
    LayerFactory(surface=surface)
    LocationFactory(surface=surface)
    CleaningFactory(surface=surface)
    Recommendation.objects.create(
        surface=surface, action="test", due_on=TODAY, earliest_on=TODAY, currency="EUR", grounds=BECAUSE
    )
    visit = VisitFactory(crew=CrewFactory(organisation=owner.organisation))
    VisitTaskFactory(visit=visit, surface=surface)
    OwnLimitFactory(organisation=owner.organisation)


@pytest.fixture
def world(request):
    """Three firms of two owners each, and people with any mixture of roles and owners."""
    draw = random.Random(request.param)
    firms = OrganisationFactory.create_batch(3)
    owners = [OwnerFactory(organisation=firm) for firm in firms for _ in range(2)]
    for owner in owners:
        fill(owner)
    people = UserFactory.create_batch(6)
    for person in people:
        for firm in draw.sample(firms, draw.randint(0, 2)):
            MembershipFactory(user=person, organisation=firm, role=draw.choice(FIRM_ROLES))
        for owner in draw.sample(owners, draw.randint(0, 2)):
            OwnerPersonFactory(user=person, owner=owner)
    known = User.objects.filter(pk__in=[person.pk for person in people])
    return SimpleNamespace(people=list(known.prefetch_related("memberships__organisation", "owner_links")))


def may(person, row, role, belongs):
    """The rule in plain words: by a role in the firm that is high enough; or, to read, as the owner's person."""
    firm_of, owner_of = belongs
    by_role = any(m.organisation == firm_of(row) and m.role >= role for m in person.memberships.all())
    owner = owner_of(row)
    owns = owner is not None and any(link.owner_id == owner.pk for link in person.owner_links.all())
    return by_role or (role == Role.OWNER and owns)


@pytest.mark.parametrize("world", range(3), indirect=True)
def test_every_kind_of_row_is_reached_by_the_rule_and_by_nothing_else(world):
    for model, belongs in BELONGS.items():
        rows = list(model.objects.all())
        for person in world.people:
            for role in Role:
                reached = set(model.objects.for_user(person, role))
                assert reached == {row for row in rows if may(person, row, role, belongs)}, (model, role)


@pytest.mark.parametrize("world", [11], indirect=True)
def test_a_higher_role_never_reaches_more_rows(world):
    for model in BELONGS:
        for person in world.people:
            sets = [set(model.objects.for_user(person, role)) for role in sorted(Role)]
            assert all(more >= fewer for more, fewer in pairwise(sets))


@pytest.mark.parametrize("world", [12], indirect=True)
def test_the_rows_of_the_firms_together_are_all_rows_and_none_twice(world):
    for model in BELONGS:
        parts = [set(model.objects.of_organisation(firm)) for firm in Organisation.objects.all()]
        assert sum(map(len, parts)) == len(set().union(*parts)) == model.objects.count()


@pytest.mark.parametrize("world", [13], indirect=True)
def test_one_row_is_given_refused_or_not_found_by_the_same_rule(world):
    for person in world.people:
        for surface in Surface.objects.all():
            for role in Role:
                if may(person, surface, role, SURFACE):
                    assert get_for_user(Surface, person, role, pk=surface.pk) == surface
                    continue
                # 404 tells nothing of what is not theirs; 403 only says that the role is too low.
                hidden = not may(person, surface, Role.OWNER, SURFACE)
                with pytest.raises(Http404 if hidden else PermissionDenied):
                    get_for_user(Surface, person, role, pk=surface.pk)


@pytest.mark.parametrize("bad", ["", "x", "1' OR '1'='1", None, 7])
def test_an_id_that_is_none_is_not_found(firm, bad):
    with pytest.raises(Http404):
        get_for_user(Surface, firm.admin, Role.OWNER, pk=bad)


@pytest.mark.parametrize("has", [role for role in Role if role != Role.OWNER])
@pytest.mark.parametrize("needs", [role for role in Role if role != Role.OWNER])
def test_a_step_of_the_firm_needs_its_role_or_a_higher_one(has, needs):
    firm = SimpleNamespace(name="a firm")
    current = SimpleNamespace(organisation=firm, role=has)

    if has >= needs:
        assert require_role(current, needs) is firm
    else:
        with pytest.raises(PermissionDenied, match=f"{needs.label.lower()} role"):
            require_role(current, needs)


def test_who_belongs_to_no_firm_is_told_to_ask_for_an_invitation():
    with pytest.raises(PermissionDenied, match="invite you"):
        require_role(SimpleNamespace(organisation=None, role=Role.OWNER), Role.VIEWER)


def test_a_reader_is_asked_for_in_one_query_with_what_lies_above(firm, django_assert_num_queries):
    above = ("site__organisation", "site__owner__organisation")

    with django_assert_num_queries(1):
        surface = get_for_user(Surface, firm.owner_person, Role.OWNER, joined=above, pk=firm.surface.pk)
        assert surface.site.owner.organisation == surface.organisation


def test_a_role_is_asked_for_besides(firm, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert get_for_user(Surface, firm.technician, Role.TECHNICIAN, pk=firm.surface.pk) == firm.surface
