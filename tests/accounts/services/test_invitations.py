"""Invitations from the mail to the door: proof, waiting, confirmation, and what ends one."""

from datetime import timedelta

import pytest
from allauth.account.models import EmailAddress
from django.core.exceptions import PermissionDenied
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.roles import Role
from accounts.models import Invitation, Membership, OwnerPerson
from accounts.services import people
from core.calc.secrets import hash_of
from core.errors import AlreadyDoneError, NotAllowedNowError
from tests.factories import MembershipFactory, OwnerPersonFactory, UserFactory
from tests.refusals import refused
from tests.sending import confirm as confirm_person

ANNA = "anna@firm.example"


@pytest.fixture
def anna(db):
    return UserFactory(email=ANNA)


def invited(firm, *, owner=False, role=Role.TECHNICIAN):
    return people.invite(
        organisation=firm.organisation,
        by=firm.admin,
        email=ANNA,
        role=role,
        owner=firm.owner if owner else None,
    )


def accept(invited, user, *, by_mail=False):
    token = invited.mail_token if by_mail else ""
    return people.accept_invitation(invitation=invited.invitation, user=user, mail_token=token)


def is_in(firm, user, *, owner=False):
    if owner:
        return OwnerPerson.objects.filter(owner=firm.owner, user=user).exists()
    return Membership.objects.filter(organisation=firm.organisation, user=user).exists()


# ---- Proof ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("owner", [False, True], ids=["the firm", "an owner"])
@pytest.mark.parametrize(
    ("by_mail", "proven", "at_once"),
    [(True, False, True), (False, True, True), (True, True, True), (False, False, False)],
)
def test_one_joins_at_once_by_the_mail_or_with_a_proven_address(firm, anna, owner, by_mail, proven, at_once):
    if proven:
        EmailAddress.objects.create(user=anna, email=ANNA.upper(), verified=True, primary=True)

    joined = accept(invited(firm, owner=owner), anna, by_mail=by_mail)

    assert (joined, is_in(firm, anna, owner=owner)) == (at_once, at_once)


def test_an_address_that_is_known_but_not_proven_proves_nothing(firm, anna):
    EmailAddress.objects.create(user=anna, email=ANNA, verified=False, primary=True)

    assert not accept(invited(firm), anna)


def test_another_proven_address_of_the_person_proves_nothing(firm, anna):
    EmailAddress.objects.create(user=anna, email="anna@home.example", verified=True, primary=False)

    assert not accept(invited(firm), anna)


@pytest.mark.parametrize("guess", ["", "x", "hash"])
def test_neither_a_guess_nor_what_is_stored_opens_the_door(firm, anna, guess):
    link = invited(firm)
    token = link.invitation.mail_hash if guess == "hash" else guess

    assert not people.proves_address(link.invitation, token)
    assert not people.accept_invitation(invitation=link.invitation, user=anna, mail_token=token)


def test_the_secret_of_the_link_is_not_the_secret_of_the_mail(firm, anna):
    link = invited(firm)

    assert link.token != link.mail_token
    assert not people.accept_invitation(invitation=link.invitation, user=anna, mail_token=link.token)


def test_neither_secret_is_stored(firm):
    link = invited(firm)

    stored = Invitation.objects.filter(pk=link.invitation.pk).values().get()

    assert not {link.token, link.mail_token} & set(map(str, stored.values()))
    assert (stored["token_hash"], stored["mail_hash"]) == (hash_of(link.token), hash_of(link.mail_token))


# ---- Waiting -------------------------------------------------------------------------------------


@pytest.mark.parametrize("owner", [False, True])
def test_who_waits_is_let_in_once_with_the_role_of_the_invitation(firm, anna, owner):
    link = invited(firm, owner=owner)
    accept(link, anna)

    assert people.confirm_invitation(invitation=link.invitation) == anna

    assert is_in(firm, anna, owner=owner)
    assert is_in(firm, anna) == (not owner)
    with refused(NotAllowedNowError, f"Nobody waits to be let in by the invitation for {ANNA}"):
        people.confirm_invitation(invitation=link.invitation)


def test_who_waits_and_finds_the_mail_after_all_needs_nobodys_word(firm, anna):
    link = invited(firm)
    accept(link, anna)

    assert accept(link, anna, by_mail=True)
    with refused(NotAllowedNowError, "Nobody waits"):
        people.confirm_invitation(invitation=link.invitation)


def test_who_waits_and_changes_the_address_is_not_let_in_as_the_invited_one(firm, anna):
    """The firm gives its word for an address, and somebody else may hold it by now."""
    link = invited(firm)
    accept(link, anna)
    anna.email = "eve@elsewhere.example"
    anna.save()

    with refused(NotAllowedNowError, ANNA, "eve@elsewhere.example", "Invite that address"):
        people.confirm_invitation(invitation=link.invitation)
    assert not is_in(firm, anna)


def test_an_invitation_withdrawn_while_somebody_waits_lets_nobody_in(firm, anna):
    link = invited(firm)
    accept(link, anna)
    people.revoke_invitation(invitation=Invitation.objects.get(pk=link.invitation.pk))

    with pytest.raises(Invitation.DoesNotExist):
        people.confirm_invitation(invitation=link.invitation)
    assert not is_in(firm, anna)


def test_an_invitation_sent_anew_while_somebody_waits_ends_the_waiting(firm, anna):
    old = invited(firm)
    accept(old, anna)

    new = people.invite_again(invitation=old.invitation, by=firm.coordinator)

    assert list(Invitation.objects.values_list("pk", "waiting")) == [(new.invitation.pk, None)]
    assert (new.invitation.role, new.invitation.invited_by) == (Role.TECHNICIAN, firm.coordinator)
    assert new.token != old.token


def test_a_person_who_deletes_the_account_waits_no_longer(firm, anna):
    link = invited(firm)
    accept(link, anna)
    anna.delete()

    with refused(NotAllowedNowError, "Nobody waits"):
        people.confirm_invitation(invitation=link.invitation)


# ---- What ends one -------------------------------------------------------------------------------


def test_a_used_one_and_one_that_ran_out_are_told_apart_by_what_they_raise(firm, anna):
    link = invited(firm)
    accept(link, anna, by_mail=True)

    with refused(AlreadyDoneError, "has been used or has run out. Ask for a new one."):
        accept(link, anna, by_mail=True)
    Invitation.objects.update(accepted_at=None, expires_at=now() - timedelta(seconds=1))
    with refused(NotAllowedNowError, "has been used or has run out. Ask for a new one."):
        accept(link, anna, by_mail=True)


def test_the_mail_proves_nothing_for_somebody_else(firm):
    eve = UserFactory(email="eve@elsewhere.example")
    link = invited(firm)

    with refused(PermissionDenied, ANNA, "eve@elsewhere.example", "Sign out and open the link again"):
        accept(link, eve, by_mail=True)


def test_an_address_is_the_same_in_capitals(firm):
    link = people.invite(organisation=firm.organisation, by=firm.admin, email="Anna@Firm.Example")
    anna = UserFactory(email="ANNA@firm.example")

    assert accept(link, anna, by_mail=True)
    assert link.invitation.email == ANNA


def test_an_owners_person_invited_twice_is_there_once(firm, anna):
    OwnerPersonFactory(owner=firm.owner, user=anna)

    accept(invited(firm, owner=True), anna, by_mail=True)

    assert OwnerPerson.objects.filter(owner=firm.owner, user=anna).count() == 1


def test_who_is_in_the_firm_keeps_the_role_whatever_the_invitation_says(firm, anna):
    MembershipFactory(organisation=firm.organisation, user=anna, role=Role.VIEWER)

    accept(invited(firm, role=Role.ADMIN), anna, by_mail=True)

    assert Membership.objects.get(organisation=firm.organisation, user=anna).role == Role.VIEWER


def test_invitations_to_an_owner_and_to_the_firm_do_not_end_each_other(firm):
    to_firm, to_owner = invited(firm), invited(firm, owner=True)

    assert set(Invitation.objects.all()) == {to_firm.invitation, to_owner.invitation}


# ---- The pages -----------------------------------------------------------------------------------


def confirm(client, who, link):
    client.force_login(who)
    confirm_person(client)
    return client.post(reverse("accounts:invitation-confirm", args=[link.invitation.pk]), follow=True)


@pytest.mark.parametrize(
    ("owner", "who", "let_in"),
    [
        (True, "coordinator", True),
        (True, "admin", True),
        (True, "technician", False),
        (True, "owner_person", False),
        (False, "admin", True),
        (False, "coordinator", False),
        (False, "outsider", False),
    ],
)
def test_coordinators_let_in_an_owners_people_and_admins_those_of_the_firm(
    client, firm, anna, owner, who, let_in
):
    link = invited(firm, owner=owner)
    accept(link, anna)

    answer = confirm(client, getattr(firm, who), link)

    assert is_in(firm, anna, owner=owner) == let_in
    assert answer.status_code == (200 if let_in else 404 if who in ("owner_person", "outsider") else 403)


def test_the_page_says_why_nobody_is_let_in(client, firm):
    answer = confirm(client, firm.admin, invited(firm))

    assert f"Nobody waits to be let in by the invitation for {ANNA}" in answer.content.decode()


def test_who_waits_is_told_so_and_can_read_nothing_of_the_firm(client, firm, anna):
    link = invited(firm)
    client.force_login(anna)
    join = reverse("accounts:invitation-accept", args=[link.token])

    answer = client.post(join, follow=True)

    assert answer.redirect_chain == [(join, 302)]
    assert client.get(firm.surface.get_absolute_url()).status_code == 404


def test_the_proof_of_the_mail_outlives_the_sign_in_and_is_forgotten_once_used(client, firm, anna):
    link = invited(firm)
    join = reverse("accounts:invitation-accept", args=[link.token])
    client.get(f"{join}?mail={link.mail_token}")
    client.post(reverse("account_login"), {"login": ANNA, "password": "a-long-password-1"})

    client.post(join)

    assert is_in(firm, anna)
    assert not {"mail", "joining_token"} & set(client.session.keys())


def test_a_link_that_was_used_is_not_found(client, firm, anna):
    link = invited(firm)
    accept(link, anna, by_mail=True)
    client.force_login(anna)

    assert client.get(reverse("accounts:invitation-accept", args=[link.token])).status_code == 404
