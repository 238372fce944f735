"""Firms, their people and invitations."""

import re
from datetime import timedelta

import pytest
from allauth.account.models import EmailAddress
from django.core import mail
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.roles import Role
from accounts.models import Invitation, Membership, Organisation, OwnerPerson
from accounts.services import people
from core.calc.secrets import hash_of
from core.errors import AlreadyDoneError, NotAllowedNowError
from tests.factories import MembershipFactory, OwnerFactory, UserFactory
from tests.pages import as_shown
from tests.sending import confirm

pytestmark = pytest.mark.django_db


def invitation_for(email, **changes):
    member = MembershipFactory()
    owner = changes.pop("owner", None)
    invitation, token, mail_token = people.invite(
        organisation=owner.organisation if owner else member.organisation,
        by=member.user,
        email=email,
        role=Role.TECHNICIAN,
        owner=owner,
    )
    for name, value in changes.items():
        setattr(invitation, name, value)
    invitation.save()
    # For the test alone: only their hashes are stored.
    invitation.token, invitation.mail_token = token, mail_token
    return invitation


def test_who_founds_a_firm_is_its_admin():
    user = UserFactory()

    firm = people.found_organisation(by=user, name="Fugenwerk", currency="EUR")

    assert Membership.objects.get(user=user, organisation=firm).role == Role.ADMIN


def test_a_bad_currency_stores_no_firm():
    with pytest.raises(ValidationError, match="three-letter"):
        people.found_organisation(by=UserFactory(), name="Fugenwerk", currency="eu")

    assert not Organisation.objects.filter(name="Fugenwerk").exists()


@pytest.mark.parametrize(
    "leave",
    [
        lambda membership: people.change_role(membership=membership, role=Role.VIEWER),
        lambda membership: people.remove_member(membership=membership),
    ],
    ids=["demoted", "removed"],
)
def test_the_last_admin_stays(leave):
    only = MembershipFactory(role=Role.ADMIN)
    MembershipFactory(organisation=only.organisation, role=Role.COORDINATOR)

    with pytest.raises(NotAllowedNowError) as refusal:
        leave(only)

    assert str(refusal.value) == (
        f"{only.user} is the last admin of {only.organisation}. Make somebody else admin first."
    )
    assert Membership.objects.get(pk=only.pk).role == Role.ADMIN


def test_one_of_two_admins_may_go():
    first = MembershipFactory(role=Role.ADMIN)
    MembershipFactory(organisation=first.organisation, role=Role.ADMIN)

    people.change_role(membership=first, role=Role.VIEWER)

    first.refresh_from_db()
    assert first.role == Role.VIEWER


def test_an_unknown_role_is_refused_in_words(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    membership = Membership.objects.get(user=firm.viewer)

    page = client.post(
        reverse("accounts:member-role", args=[membership.pk]), {"role": Role.OWNER.value}, follow=True
    )

    assert "That is not a role" in page.content.decode()
    membership.refresh_from_db()
    assert membership.role == Role.VIEWER


def test_an_invited_person_gets_the_role_of_the_invitation():
    invitation = invitation_for("anna@firm.example")
    user = UserFactory(email="anna@firm.example")

    people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    assert Membership.objects.get(user=user).role == Role.TECHNICIAN
    invitation.refresh_from_db()
    assert invitation.accepted_at is not None


def test_an_owners_person_gets_no_place_in_the_firm():
    owner = OwnerFactory()
    invitation = invitation_for("olga@owner.example", owner=owner)
    user = UserFactory(email="olga@owner.example")

    people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    assert OwnerPerson.objects.filter(owner=owner, user=user).exists()
    assert not Membership.objects.filter(user=user).exists()


def test_another_persons_invitation_is_refused_with_both_addresses():
    invitation = invitation_for("anna@firm.example")
    user = UserFactory(email="eve@elsewhere.example")

    with pytest.raises(PermissionDenied, match=r"for anna@firm\.example; you are signed in as eve@elsewhere"):
        people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    assert not Membership.objects.filter(user=user).exists()


@pytest.mark.parametrize(
    "change", [{"expires_at": now() - timedelta(minutes=1)}, {"accepted_at": now() - timedelta(days=1)}]
)
def test_an_invitation_that_ran_out_or_was_used_is_refused(change):
    invitation = invitation_for("anna@firm.example", **change)
    user = UserFactory(email="anna@firm.example")

    with pytest.raises(NotAllowedNowError, match="used or has run out"):
        people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    assert not Membership.objects.filter(user=user).exists()


def test_an_invitation_works_once():
    invitation = invitation_for("anna@firm.example")
    user = UserFactory(email="anna@firm.example")
    people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    with pytest.raises(AlreadyDoneError):
        people.accept_invitation(invitation=invitation, user=user, mail_token=invitation.mail_token)

    assert Membership.objects.filter(user=user).count() == 1


def test_a_link_that_runs_out_while_its_page_is_open_says_so(client):
    invitation = invitation_for("anna@firm.example", expires_at=now() - timedelta(days=1))
    client.force_login(UserFactory(email="anna@firm.example"))

    answer = client.post(reverse("accounts:invitation-accept", args=[invitation.token]))

    assert answer.status_code == 409
    assert "This invitation has been used or has run out. Ask for a new one." in answer.content.decode()


def test_a_member_who_joins_again_keeps_the_role():
    invitation = invitation_for("anna@firm.example")
    member = MembershipFactory(
        organisation=invitation.organisation, user=UserFactory(email="anna@firm.example"), role=Role.ADMIN
    )

    people.accept_invitation(invitation=invitation, user=member.user, mail_token=invitation.mail_token)

    member.refresh_from_db()
    assert member.role == Role.ADMIN


def test_the_page_of_an_invitation_that_ran_out_says_whom_to_ask(client):
    invitation = invitation_for("anna@firm.example", expires_at=now() - timedelta(days=1))

    page = as_shown(
        client.get(reverse("accounts:invitation-accept", args=[invitation.token])).content.decode()
    )

    assert "ran out on" in page
    assert str(invitation.invited_by) in page
    assert "Open an account" not in page


def test_an_invitation_is_mailed_with_its_link(client, firm):
    client.force_login(firm.admin)
    confirm(client)

    client.post(reverse("accounts:member-invite"), {"email": "New@Firm.example", "role": Role.VIEWER.value})

    invitation = Invitation.objects.get()
    assert invitation.email == "new@firm.example"
    assert mail.outbox[0].to == ["new@firm.example"]
    (token,) = re.findall(r"/join/([\w-]+)/", mail.outbox[0].body)
    assert invitation.token_hash == hash_of(token)


def test_an_invited_stranger_comes_back_to_the_invitation_after_sign_up(client):
    invitation = invitation_for("anna@firm.example")
    join = reverse("accounts:invitation-accept", args=[invitation.token])
    client.get(join)

    answer = client.post(
        reverse("account_signup"),
        {
            "email": "anna@firm.example",
            "full_name": "Anna",
            "password1": "a-long-password-1",
            "password2": "a-long-password-1",
        },
    )

    assert answer.status_code == 302
    assert answer.url == join


def test_sign_up_can_be_closed_to_all_but_the_invited(client, settings):
    settings.SIGN_UP_OPEN = False
    closed = as_shown(client.get(reverse("account_signup")).content.decode())
    invitation = invitation_for("anna@firm.example")

    client.get(reverse("accounts:invitation-accept", args=[invitation.token]))

    assert 'name="password1"' not in closed
    assert 'name="password1"' in client.get(reverse("account_signup")).content.decode()


def test_a_person_of_two_firms_acts_for_the_one_they_chose(client):
    first = MembershipFactory(role=Role.ADMIN)
    second = MembershipFactory(user=first.user, role=Role.VIEWER)
    client.force_login(first.user)

    client.post(reverse("accounts:firm-switch"), {"organisation": str(second.organisation.pk)})

    page = client.get(reverse("accounts:firm"))
    assert page.context["current"].organisation == second.organisation
    assert not page.context["current"].can_administer


def test_units_are_kept_for_the_person(client, firm):
    client.force_login(firm.viewer)

    client.post(reverse("accounts:me"), {"full_name": "Vera", "units": "us"})

    firm.viewer.refresh_from_db()
    assert (firm.viewer.full_name, firm.viewer.units) == ("Vera", "us")


def test_by_a_link_passed_on_one_waits_until_somebody_of_the_firm_lets_one_in(client):
    invitation = invitation_for("anna@firm.example")
    user = UserFactory(email="anna@firm.example")
    client.force_login(user)
    join = reverse("accounts:invitation-accept", args=[invitation.token])

    client.post(join)

    assert not Membership.objects.filter(user=user).exists()
    assert "must let" in as_shown(client.get(join).content.decode())
    assert people.confirm_invitation(invitation=invitation) == user
    assert Membership.objects.filter(user=user, organisation=invitation.organisation).count() == 1


def test_the_link_that_came_by_mail_lets_one_in_at_once(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    client.post(reverse("accounts:member-invite"), {"email": "new@firm.example", "role": Role.VIEWER.value})
    (path,) = re.findall(r"(/join/\S+)", mail.outbox[0].body)
    new = UserFactory(email="new@firm.example")
    client.force_login(new)

    client.get(path)
    client.post(path)

    assert Membership.objects.filter(user=new, organisation=firm.organisation).exists()


def test_the_page_shows_the_link_without_the_proof_of_the_mail(client, firm):
    client.force_login(firm.admin)
    confirm(client)

    page = client.post(
        reverse("accounts:member-invite"),
        {"email": "new@firm.example", "role": Role.VIEWER.value},
        follow=True,
    ).content.decode()

    assert "/join/" in page
    assert "?mail=" in mail.outbox[0].body
    assert "?mail=" not in page


def test_another_links_proof_proves_nothing():
    invitation, other = invitation_for("anna@firm.example"), invitation_for("bert@firm.example")
    user = UserFactory(email="anna@firm.example")

    assert not people.accept_invitation(invitation=invitation, user=user, mail_token=other.mail_token)
    assert not Membership.objects.filter(user=user).exists()


def test_a_proven_address_joins_by_any_link():
    invitation = invitation_for("anna@firm.example")
    user = UserFactory(email="anna@firm.example")
    EmailAddress.objects.create(user=user, email=user.email, verified=True, primary=True)

    assert people.accept_invitation(invitation=invitation, user=user)


def test_nobody_is_let_in_who_did_not_come():
    with pytest.raises(NotAllowedNowError, match="Nobody waits"):
        people.confirm_invitation(invitation=invitation_for("anna@firm.example"))


def test_a_link_that_ran_out_opens_no_closed_sign_up(client, settings):
    settings.SIGN_UP_OPEN = False
    invitation = invitation_for("anna@firm.example")
    client.get(reverse("accounts:invitation-accept", args=[invitation.token]))
    Invitation.objects.filter(pk=invitation.pk).update(expires_at=now() - timedelta(minutes=1))

    assert 'name="password1"' not in client.get(reverse("account_signup")).content.decode()


def test_where_sign_up_is_closed_nobody_founds_a_firm(client, settings):
    settings.SIGN_UP_OPEN = False
    client.force_login(UserFactory())

    answer = client.post(reverse("accounts:firm-found"), {"name": "Mine", "country": "DE"})

    assert answer.status_code == 403
    assert not Organisation.objects.filter(name="Mine").exists()
