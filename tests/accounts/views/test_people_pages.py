"""The pages of people, firms, owners and invitations: what is sent is stored, what is refused is said."""

import re

import pytest
from django.core import mail
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.models import Invitation, Membership, Organisation, Owner, OwnerPerson
from tests.factories import MembershipFactory, OwnerFactory, OwnerPersonFactory, UserFactory
from tests.pages import as_shown
from tests.sending import confirm

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    return client


def said(answer):
    return [str(message) for message in answer.context["messages"]]


def link_in(text):
    return re.search(r"http://testserver(/\S+)", text).group(1)


def invite(client, email="new@firm.example", role=Role.TECHNICIAN):
    return client.post(reverse("accounts:member-invite"), {"email": email, "role": role.value}, follow=True)


def test_who_founds_a_firm_is_its_admin_and_acts_for_it_at_once(client):
    person = UserFactory()
    client.force_login(person)

    answer = client.post(
        reverse("accounts:firm-found"), {"name": "Stone and rain", "country": "CH"}, follow=True
    )

    firm = Organisation.objects.get()
    assert (firm.name, firm.currency) == ("Stone and rain", "CHF")
    assert Membership.objects.get().user == person
    assert Membership.objects.get().role == Role.ADMIN
    assert said(answer) == ["Stone and rain is set up: CHF, Europe/Zurich. What to do next stands below."]


def test_a_second_firm_founded_is_the_one_acted_for(office, firm):
    office.post(reverse("accounts:firm-found"), {"name": "The second", "country": "DE"})

    assert office.get(reverse("accounts:firm")).context["organisation"].name == "The second"


@pytest.mark.parametrize("currency", ["E", "EURO", "E1R", "€", "12", "eur"])
def test_a_currency_that_is_none_is_refused_and_no_firm_is_made(client, currency):
    client.force_login(UserFactory())

    answer = client.post(
        reverse("accounts:firm-found"), {"name": "Stone", "country": "DE", "currency": currency}
    )

    assert answer.context["form"].errors["currency"]
    assert not Organisation.objects.exists()


SETTINGS = {
    "name": "Renamed",
    "time_zone": "Europe/Berlin",
    "language": "fr",
    "currency": "USD",
    "below_price_m2_yr": "6.5000",
    "fresh_test_above": "3500.00",
}


def test_the_firms_settings_are_stored_and_say_who_changed_them(office, firm):
    office.post(reverse("accounts:firm-settings"), SETTINGS)

    firm.organisation.refresh_from_db()
    assert [str(getattr(firm.organisation, name)) for name in SETTINGS] == list(SETTINGS.values())
    newest = firm.organisation.history.first()
    assert (newest.name, newest.history_user) == ("Renamed", firm.admin)


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("name", ""),
        ("name", "x" * 121),
        ("currency", "EURO"),
        ("below_price_m2_yr", "-1"),
        ("below_price_m2_yr", "nan"),
        ("below_price_m2_yr", "1.23456"),
        ("fresh_test_above", "-0.01"),
        ("fresh_test_above", ""),
    ],
)
def test_a_setting_that_cannot_be_is_refused_beside_its_field(office, firm, name, typed):
    answer = office.post(reverse("accounts:firm-settings"), SETTINGS | {name: typed})

    firm.organisation.refresh_from_db()
    assert answer.context["form"].errors[name]
    assert firm.organisation.name != "Renamed"


def test_somebody_invited_gets_a_mail_whose_link_lets_them_in_once(office, firm, client):
    answer = invite(office)

    newcomer = UserFactory(email="new@firm.example")
    client.force_login(newcomer)
    link = link_in(mail.outbox[0].body)
    shown = client.get(link)
    client.post(link)
    again = client.post(link)

    assert mail.outbox[0].to == ["new@firm.example"]
    assert link.partition("?")[0] in said(answer)[0]
    assert (shown.status_code, again.status_code) == (200, 404)
    assert Membership.objects.get(user=newcomer).role == Role.TECHNICIAN


def test_the_secret_of_a_link_is_not_stored(office):
    invite(office)

    path, _, proof = link_in(mail.outbox[0].body).partition("?mail=")
    secret = path.rstrip("/").rpartition("/")[2]
    stored = [str(value) for value in Invitation.objects.values_list().get()]
    assert min(len(secret), len(proof)) > 40
    assert not any(secret in value or proof in value for value in stored)


def test_an_invitation_sent_anew_ends_the_old_link(office, client, firm):
    invite(office)
    office.post(reverse("accounts:invitation-renew", args=[Invitation.objects.get().pk]))
    old, new = (link_in(letter.body) for letter in mail.outbox)
    client.force_login(UserFactory(email="new@firm.example"))

    assert (client.get(old).status_code, client.get(new).status_code) == (404, 200)
    assert Invitation.objects.get().role == Role.TECHNICIAN


def test_the_same_person_invited_again_has_one_open_invitation_with_the_newest_role(office):
    invite(office, "New@Firm.Example", Role.VIEWER)
    invite(office, "new@firm.example", Role.COORDINATOR)

    assert [(row.email, row.role) for row in Invitation.objects.all()] == [
        ("new@firm.example", Role.COORDINATOR)
    ]


def test_an_invitation_withdrawn_leads_nowhere(office, client):
    invite(office)
    answer = office.post(
        reverse("accounts:invitation-revoke", args=[Invitation.objects.get().pk]), follow=True
    )
    client.force_login(UserFactory(email="new@firm.example"))

    assert said(answer) == ["The invitation for new@firm.example is withdrawn."]
    assert client.get(link_in(mail.outbox[0].body)).status_code == 404


@pytest.mark.parametrize(
    "sent",
    [{"email": "no address", "role": 20}, {"email": "a@b.example", "role": 10}, {"email": "", "role": 20}],
)
def test_an_invitation_that_cannot_be_sends_nothing(office, sent):
    answer = office.post(reverse("accounts:member-invite"), sent)

    assert answer.context["form"].errors
    assert (len(mail.outbox), Invitation.objects.count()) == (0, 0)


def test_an_owners_person_is_invited_by_a_coordinator_and_reads_that_owner_alone(client, firm):
    client.force_login(firm.coordinator)
    confirm(client)
    client.post(reverse("accounts:owner-invite", args=[firm.owner.pk]), {"email": "reader@owner.example"})
    reader = UserFactory(email="reader@owner.example")
    client.force_login(reader)

    client.post(link_in(mail.outbox[0].body))

    assert OwnerPerson.objects.get(user=reader).owner == firm.owner
    assert not reader.memberships.exists()
    assert client.get(firm.surface.get_absolute_url()).status_code == 200
    assert client.get(OwnerFactory(organisation=firm.organisation).get_absolute_url()).status_code == 404


@pytest.mark.parametrize("route", ["accounts:invitation-renew", "accounts:invitation-revoke"])
@pytest.mark.parametrize(("of_owner", "status"), [(True, 302), (False, 403)])
def test_a_coordinator_looks_after_invitations_of_owners_but_not_of_the_firm(
    office, client, firm, route, of_owner, status
):
    if of_owner:
        office.post(reverse("accounts:owner-invite", args=[firm.owner.pk]), {"email": "reader@owner.example"})
    else:
        invite(office)
    client.force_login(firm.coordinator)
    confirm(client)

    answer = client.post(reverse(route, args=[Invitation.objects.get().pk]))

    assert answer.status_code == status


def test_a_role_is_changed_and_who_changed_it_is_kept(office, firm):
    row = firm.viewer.memberships.get()

    answer = office.post(
        reverse("accounts:member-role", args=[row.pk]), {"role": Role.COORDINATOR.value}, follow=True
    )

    row.refresh_from_db()
    newest, *_ = row.history.all()
    assert row.role == Role.COORDINATOR
    assert (newest.role, newest.history_user) == (Role.COORDINATOR, firm.admin)
    assert said(answer) == [f"{firm.viewer} is now coordinator."]


@pytest.mark.parametrize("role", ["10", "60", "", "admin", "-1"])
def test_a_role_that_is_none_of_the_firms_is_not_given(office, firm, role):
    row = firm.viewer.memberships.get()

    answer = office.post(reverse("accounts:member-role", args=[row.pk]), {"role": role}, follow=True)

    row.refresh_from_db()
    assert row.role == Role.VIEWER
    assert said(answer) == ["That is not a role. Choose one from the list; nothing was changed."]


@pytest.mark.parametrize(
    ("route", "sent"), [("accounts:member-role", {"role": "20"}), ("accounts:member-remove", {})]
)
def test_the_last_admin_is_told_to_make_somebody_else_admin_first(office, firm, route, sent):
    row = firm.admin.memberships.get()

    answer = office.post(reverse(route, args=[row.pk]), sent, follow=True)

    row.refresh_from_db()
    assert row.role == Role.ADMIN
    assert said(answer) == [
        f"{firm.admin} is the last admin of {firm.organisation}. Make somebody else admin first."
    ]


def test_a_member_who_is_removed_loses_access_and_the_removal_is_on_record(office, client, firm):
    row = firm.technician.memberships.get()
    history = Membership.history.filter(user=firm.technician)

    office.post(reverse("accounts:member-remove", args=[row.pk]))

    last = history.first()
    assert (last.history_type, last.history_user) == ("-", firm.admin)
    client.force_login(firm.technician)
    assert client.get(firm.surface.get_absolute_url()).status_code == 404


def test_an_admin_can_leave_when_another_stays(office, firm):
    MembershipFactory(organisation=firm.organisation, role=Role.ADMIN)

    office.post(reverse("accounts:member-remove", args=[firm.admin.memberships.get().pk]))

    assert office.get(reverse("accounts:firm")).status_code == 403


OWNER = {
    "name": "City of stone",
    "address": "1 Yard",
    "email": "city@owner.example",
    "phone": "1",
    "note": "Slow.",
}


def test_an_owner_is_stored_and_changed_and_who_did_it_is_kept(client, firm):
    client.force_login(firm.coordinator)
    confirm(client)
    client.post(reverse("accounts:owner-create"), OWNER)
    owner = Owner.objects.get(name=OWNER["name"])

    answer = client.post(reverse("accounts:owner-edit", args=[owner.pk]), OWNER | {"phone": "2"})

    owner.refresh_from_db()
    assert answer.url == owner.get_absolute_url()
    assert (owner.organisation, owner.phone) == (firm.organisation, "2")
    assert [(row.phone, row.history_user) for row in owner.history.all()] == [
        ("2", firm.coordinator),
        ("1", firm.coordinator),
    ]


def test_two_owners_of_one_name_are_refused_in_words_within_a_firm_alone(office, firm):
    OwnerFactory(name="Elsewhere")

    same = office.post(reverse("accounts:owner-create"), {"name": firm.owner.name})
    other = office.post(reverse("accounts:owner-create"), {"name": "Elsewhere"})

    assert "already an owner of this name" in as_shown(same.content.decode())
    assert (same.status_code, other.status_code) == (200, 302)


def test_a_person_taken_off_an_owner_is_named(office, firm):
    link = OwnerPersonFactory(owner=firm.owner)

    answer = office.post(reverse("accounts:owner-person-remove", args=[link.pk]), follow=True)

    assert said(answer) == [f"{link.user} no longer sees the sites of {firm.owner}."]
    assert not OwnerPerson.objects.filter(pk=link.pk).exists()


def test_ones_own_name_and_units_are_stored(client, firm):
    client.force_login(firm.viewer)

    client.post(reverse("accounts:me"), {"full_name": "Robin Stone", "units": "us"})

    firm.viewer.refresh_from_db()
    assert (str(firm.viewer), firm.viewer.units) == ("Robin Stone", "us")


@pytest.mark.parametrize(
    "sent", [{"units": "imperial"}, {"units": ""}, {"units": "si", "full_name": "x" * 121}]
)
def test_details_that_cannot_be_are_refused(client, firm, sent):
    client.force_login(firm.viewer)

    answer = client.post(reverse("accounts:me"), sent)

    firm.viewer.refresh_from_db()
    assert answer.context["form"].errors
    assert (firm.viewer.full_name, firm.viewer.units) == ("", "si")
