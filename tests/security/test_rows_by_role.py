"""Every model whose rows belong to somebody: which of them each person reaches, role by role, and nobody else."""

from types import SimpleNamespace

import pytest
from django.apps import apps

from accounts.calc.roles import Role
from accounts.models import Invitation
from core.calc.secrets import hash_of
from maintenance.models import Forecast, PortfolioFit
from maintenance.services.cleanings import terms_of
from planning.models import Agreement, CalendarFeed, CrewMethod
from qa.calc.outlines import SurfacePlan
from qa.models import Outline
from reporting.models import VerifiedSource
from tests.factories import (
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    OwnerPersonFactory,
    SiteFactory,
    SitePlanFactory,
    SurfaceFactory,
)
from tests.permissions import rows_of

OURS = ("accounts", "qa", "maintenance", "planning", "reporting", "fieldwork", "exchange", "api")
OF_THE_FIRM = {Role.VIEWER: "viewer", Role.TECHNICIAN: "technician", Role.COORDINATOR: "coordinator"}
OF_THE_FIRM[Role.ADMIN] = "admin"

# What an owner's people read nothing of, told by hand: the firm's own affairs.
FIRMS_OWN = {
    "Organisation",
    "Membership",
    "OwnerPerson",
    "Invitation",
    "KeptBuildUp",
    "OwnLimit",
    "RainRecord",
    "RainFall",
    "RainCover",
    "OwnBand",
    "MethodTerms",
    "PriceList",
    "PortfolioFit",
    "Crew",
    "CrewAbsence",
    "CrewMethod",
    "Visit",
    "CalendarFeed",
    "OwnerNotice",
    "DigestMail",
    "ToldDay",
    "MessageMail",
    "WorkPlan",
    "DriveTable",
    "VerifiedSource",
    "SharedLink",
    "SharedSite",
    "LinkOpening",
    "Sending",
    "DueReport",
    "ReportRoutine",
    "FieldEntry",
    "Phone",
    "HeldEntry",
    "DataImport",
    "ColumnTemplate",
    "DataExport",
    "Restoration",
    "ApiToken",
    "Recommendation",  # an owner reads what was released of it
}


# What is one person's alone, whatever their role: tests/accounts/test_notices_by_role.py.
OF_ONE_PERSON = {"User", "Notice", "NoticeSettings", "NoticeChoice"}


def is_ours(model):
    return hasattr(model, "objects") and hasattr(model.objects.all(), "for_user")


MODELS = {
    model.__name__: model
    for label in OURS
    for model in apps.get_app_config(label).get_models()
    if is_ours(model)
}


def fill(firm):
    """One row at least of every kind that hangs on an owner, its site or its surface."""
    rows_of(firm)
    surface, site = firm.surface, firm.site
    Outline.objects.create(surface=surface, plan=SurfacePlan(((0.0, 0.0), (9.0, 0.0), (9.0, 9.0))))
    LayerFactory(surface=surface)
    LocationFactory(surface=surface)
    SitePlanFactory(site=site)
    Agreement.objects.create(site=site)
    for crew in firm.organisation.crews.all():
        CrewMethod.objects.get_or_create(crew=crew, method="vacuum")
    Forecast.objects.get_or_create(surface=surface)


def another_owner_of(firm):
    """A second owner of the same firm, with a person, a site and a surface."""
    owner = OwnerFactory(organisation=firm.organisation)
    site = SiteFactory(owner=owner)
    return SimpleNamespace(
        organisation=firm.organisation,
        owner=owner,
        site=site,
        surface=SurfaceFactory(site=site),
        admin=firm.admin,
        owner_person=OwnerPersonFactory(owner=owner).user,
    )


@pytest.fixture
def world(firm):
    """A firm of two owners, both with rows of every kind."""
    firm.other = another_owner_of(firm)
    terms_of(firm.organisation)
    PortfolioFit.objects.create(organisation=firm.organisation)
    fill(firm)
    Invitation.objects.update(token_hash=hash_of("of the first"))  # one link and one source, once in a firm
    CalendarFeed.objects.update(secret_hash=hash_of("of the first"))
    VerifiedSource.objects.update(citation="of the first")
    firm.first_rows = {name: keys_of(model.objects.all()) for name, model in MODELS.items()}
    fill(firm.other)
    firm.all_rows = {name: keys_of(model.objects.all()) for name, model in MODELS.items()}
    return firm


def keys_of(rows):
    return set(rows.values_list("pk", flat=True))


def of_outsider(firm, name):
    """The outsider has a firm of their own, with themselves in it."""
    theirs = firm.outsider.memberships.get()
    return {"Organisation": {theirs.organisation_id}, "Membership": {theirs.pk}}.get(name, set())


def test_every_model_of_the_apps_belongs_to_somebody_or_is_known_to_belong_to_nobody():
    models = {model.__name__ for label in OURS for model in apps.get_app_config(label).get_models()}
    historical = {name for name in models if name.startswith("Historical")}

    assert models - historical - set(MODELS) - {name for name in models if "_" in name} == OF_ONE_PERSON
    assert set(MODELS) >= FIRMS_OWN


def test_the_world_has_rows_of_every_kind_or_nothing_below_could_fail(world):
    assert [name for name, keys in world.first_rows.items() if not keys] == []


def test_people_of_the_firm_reach_all_its_rows_up_to_their_role_and_none_beyond(world):
    for name, model in MODELS.items():
        mine = world.all_rows[name] - of_outsider(world, name)
        for has, who in OF_THE_FIRM.items():
            for needs in Role:
                reached = keys_of(model.objects.for_user(getattr(world, who), needs))
                assert reached == (mine if has >= needs else set()), (name, who, needs)


def test_people_of_another_firm_reach_nothing(world):
    for name, model in MODELS.items():
        for needs in Role:
            reached = keys_of(model.objects.for_user(world.outsider, needs))
            assert reached == of_outsider(world, name), (name, needs)


def test_an_owners_person_reads_what_is_of_the_owner_and_may_do_nothing_with_it(world):
    above = [role for role in Role if role != Role.OWNER]

    for name, model in MODELS.items():
        assert bool(keys_of(model.objects.for_user(world.owner_person))) == (name not in FIRMS_OWN), name
        may = [keys_of(model.objects.for_user(world.owner_person, role)) for role in above]
        assert may == [set()] * len(above), name


def test_two_owners_of_one_firm_read_nothing_of_each_other(world):
    for name in sorted(set(MODELS) - FIRMS_OWN):
        model = MODELS[name]
        first = keys_of(model.objects.for_user(world.owner_person))
        second = keys_of(model.objects.for_user(world.other.owner_person))
        assert (bool(first), bool(second), first & second) == (True, True, set()), name
        assert first | second == world.all_rows[name], name


def test_rows_of_a_firm_are_all_of_it_and_no_others(world):
    theirs = world.outsider.memberships.get().organisation

    for name, model in MODELS.items():
        of_firm = keys_of(model.objects.of_organisation(world.organisation))
        assert of_firm == world.all_rows[name] - of_outsider(world, name), name
        assert keys_of(model.objects.of_organisation(theirs)) == of_outsider(world, name), name


@pytest.mark.parametrize("who", ["owner_person", "viewer"])
def test_who_was_taken_off_reaches_nothing_any_more(world, who):
    person = getattr(world, who)
    person.memberships.all().delete()
    person.owner_links.all().delete()

    left = {name: keys_of(model.objects.for_user(person)) for name, model in MODELS.items()}

    assert set().union(*left.values()) == set()


def test_somebody_of_a_firm_who_also_reads_for_an_owner_of_another_has_both_and_no_more(world):
    """Anybody may be both: neither side opens more of the other."""
    OwnerPersonFactory(owner=world.owner, user=world.outsider)

    for name, model in MODELS.items():
        as_owner = keys_of(model.objects.for_user(world.owner_person))
        reached = keys_of(model.objects.for_user(world.outsider))
        assert reached == as_owner | of_outsider(world, name), name
        assert keys_of(model.objects.for_user(world.outsider, Role.VIEWER)) == of_outsider(world, name), name
