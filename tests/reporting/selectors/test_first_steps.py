"""How far a firm is."""

import pytest
from django.utils.timezone import now

from maintenance.models import Forecast
from qa.models import Surface
from qa.services.changes import bump_record_version
from reporting.calc.first_steps import StepKey
from reporting.selectors.first_steps import has_forecast, is_begun, progress_of
from tests.clock import TODAY
from tests.factories import (
    InfiltrationTestFactory,
    LayerFactory,
    MembershipFactory,
    OrganisationFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    small_outlook,
)

pytestmark = pytest.mark.django_db


def test_each_step_is_ticked_once_it_is_there():
    firm = OrganisationFactory()
    MembershipFactory(organisation=firm)
    assert progress_of(firm).done == frozenset()

    owner = OwnerFactory(organisation=firm)
    assert progress_of(firm).done == {StepKey.OWNER}
    site = SiteFactory(owner=owner)
    surface = SurfaceFactory(site=site)
    LayerFactory(surface=surface)
    assert progress_of(firm).done == {StepKey.OWNER, StepKey.SITE, StepKey.SURFACE, StepKey.BUILD_UP}
    round_ = RoundFactory(surface=surface)
    assert StepKey.TEST not in progress_of(firm).done
    InfiltrationTestFactory(round=round_)
    firm.prices_given_at = now()
    firm.save()
    MembershipFactory(organisation=firm)
    assert progress_of(firm).done == set(StepKey) - {StepKey.FORECAST}

    forecast, _ = Forecast.objects.get_or_create(surface=surface)
    forecast.outlook = small_outlook()
    forecast.save()
    assert progress_of(firm).done == set(StepKey)


def test_a_forecast_that_rests_on_no_test_is_not_the_first_one(firm):
    bump_record_version(firm.surface.pk)
    forecast, _ = Forecast.objects.get_or_create(surface=firm.surface)
    forecast.outlook = small_outlook()
    forecast.save()

    assert not progress_of(firm.organisation).has_forecast


def test_a_firm_has_begun_once_there_was_a_surface(firm):
    other = firm.outsider.memberships.get().organisation
    Surface.objects.update(removed_on=TODAY)

    assert is_begun(firm.organisation)
    assert not is_begun(other)
    assert progress_of(firm.organisation).surface is None


def test_who_knows_of_the_forecast_saves_the_question(firm, django_assert_num_queries):
    with django_assert_num_queries(1):
        known = has_forecast(firm.organisation)
    with django_assert_num_queries(7):
        at = progress_of(firm.organisation, forecast=known)

    assert at == progress_of(firm.organisation)


def test_one_goes_on_with_the_newest(firm):
    site = SiteFactory(owner=OwnerFactory(organisation=firm.organisation))

    progress = progress_of(firm.organisation)

    assert (progress.owner, progress.site) == (str(site.owner.pk), str(site.pk))
    assert progress.surface == str(firm.surface.pk)


def test_another_firms_rows_tick_nothing(firm):
    other = firm.outsider.memberships.get().organisation

    assert progress_of(other).done == frozenset()


def test_an_invitation_counts_as_people(firm):
    other = firm.outsider.memberships.get().organisation
    other.invitations.create(email="a@b.example", invited_by=firm.outsider, token_hash="x", expires_at=now())

    assert StepKey.PEOPLE in progress_of(other).done


def test_it_costs_the_same_however_much_there_is(firm, django_assert_max_num_queries):
    for _ in range(5):
        InfiltrationTestFactory(round=RoundFactory(surface=SurfaceFactory(site=firm.site)))

    with django_assert_max_num_queries(8):
        progress_of(firm.organisation)
