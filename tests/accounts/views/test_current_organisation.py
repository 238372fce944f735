"""Which firm a person acts for, and how one who also owns sites reads them."""

from types import SimpleNamespace

from django.urls import reverse

from accounts.calc.audience import Audience
from accounts.views.current_organisation import audience_of
from tests.factories import MembershipFactory, OwnerPersonFactory
from tests.pages import as_shown

SWITCH = reverse("accounts:firm-switch")
START = reverse("reporting:start")


def test_an_owners_person_who_founded_a_firm_can_still_read_their_own_sites(client, firm):
    MembershipFactory(user=firm.owner_person)
    client.force_login(firm.owner_person)
    assert "First steps" in client.get(START).content.decode()

    client.post(SWITCH, {"organisation": "own-sites"})

    page = as_shown(client.get(START).content.decode())
    assert "My sites" in page
    assert firm.surface.name in page
    assert "Act for" in page


def test_somebody_without_sites_of_their_own_stays_with_the_firm(client, firm):
    client.force_login(firm.viewer)

    client.post(SWITCH, {"organisation": "own-sites"})

    page = as_shown(client.get(START).content.decode())
    assert "What needs doing" in page
    assert "Read my own sites" not in page


def test_the_firm_last_chosen_is_acted_for(client, firm):
    other = MembershipFactory(user=firm.viewer).organisation
    client.force_login(firm.viewer)

    client.post(SWITCH, {"organisation": str(firm.organisation.pk)})
    assert client.get(START).context["current_organisation"] == firm.organisation

    client.post(SWITCH, {"organisation": str(other.pk)})
    assert client.get(START).context["current_organisation"] == other


def test_an_owners_people_of_two_firms_see_both(client, firm):
    second = OwnerPersonFactory(user=firm.owner_person).owner
    client.force_login(firm.owner_person)

    page = client.get(reverse("accounts:owner-detail", args=[second.pk]))

    assert page.status_code == 200


def test_who_acts_for_a_firm_reads_its_rows_as_its_people_and_those_of_others_as_an_owner_does(firm):
    other = MembershipFactory(user=firm.viewer).organisation

    assert audience_of(SimpleNamespace(organisation=firm.organisation), firm.organisation) is Audience.FIRM
    assert audience_of(SimpleNamespace(organisation=other), firm.organisation) is Audience.OWNER
    assert audience_of(SimpleNamespace(organisation=None), firm.organisation) is Audience.OWNER
