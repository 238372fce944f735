"""What decides who gets in, or takes everything away, is done only by who has just confirmed who they are."""

from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.models import Invitation, Membership, OwnerPerson, User
from core.calc.jobs import JobState
from exchange.models import DataExport
from tests.clock import START
from tests.factories import MembershipFactory, OwnerPersonFactory
from tests.sending import as_shown, confirm

pytestmark = pytest.mark.django_db
AGAIN = reverse("account_reauthenticate")
PASSWORD = "a-long-password-1"


def to_change_a_role(firm):
    row = MembershipFactory(organisation=firm.organisation, role=Role.VIEWER)
    admins = Membership.objects.filter(pk=row.pk, role=Role.ADMIN)
    return reverse("accounts:member-role", args=[row.pk]), {"role": str(Role.ADMIN.value)}, admins.exists


def to_remove_somebody(firm):
    row = MembershipFactory(organisation=firm.organisation)
    gone = Membership.objects.filter(pk=row.pk)
    return reverse("accounts:member-remove", args=[row.pk]), {}, lambda: not gone.exists()


def to_invite(firm):
    sent = {"email": "thief@elsewhere.example", "role": str(Role.ADMIN.value)}
    return reverse("accounts:member-invite"), sent, Invitation.objects.filter(email=sent["email"]).exists


def to_invite_for_an_owner(firm):
    sent = {"email": "thief@elsewhere.example"}
    url = reverse("accounts:owner-invite", args=[firm.owner.pk])
    return url, sent, Invitation.objects.filter(email=sent["email"]).exists


def to_remove_an_owners_person(firm):
    row = OwnerPersonFactory(owner=firm.owner)
    gone = OwnerPerson.objects.filter(pk=row.pk)
    return reverse("accounts:owner-person-remove", args=[row.pk]), {}, lambda: not gone.exists()


def to_take_everything(firm):
    return reverse("exchange:export-create"), {}, DataExport.objects.filter(made_by=firm.admin).exists


DANGEROUS = [
    to_change_a_role,
    to_remove_somebody,
    to_invite,
    to_invite_for_an_owner,
    to_remove_an_owners_person,
    to_take_everything,
]


@pytest.fixture
def admin(client, firm):
    client.force_login(firm.admin)
    return client


@pytest.mark.parametrize("danger", DANGEROUS)
def test_it_is_done_once_the_password_was_given_and_not_before(admin, firm, danger):
    url, sent, is_done = danger(firm)

    asked = admin.post(url, sent)
    before = is_done()
    answer = admin.post(asked.url, {"password": PASSWORD})

    assert (asked.status_code, asked.url.split("?")[0]) == (302, AGAIN)
    assert (before, is_done()) == (False, True)
    assert answer.status_code == 302


@pytest.mark.parametrize("danger", DANGEROUS)
def test_a_wrong_password_does_nothing(admin, firm, danger):
    url, sent, is_done = danger(firm)

    answer = admin.post(admin.post(url, sent).url, {"password": "not-the-password"})

    assert answer.status_code == 200
    assert not is_done()


@pytest.mark.parametrize("danger", DANGEROUS)
def test_who_has_just_confirmed_is_asked_nothing(admin, firm, danger):
    url, sent, is_done = danger(firm)
    confirm(admin)

    admin.post(url, sent)

    assert is_done()


@pytest.mark.parametrize("danger", DANGEROUS)
def test_an_hour_later_the_question_comes_again(admin, firm, danger, time_machine):
    url, sent, is_done = danger(firm)
    confirm(admin)
    time_machine.move_to(START + timedelta(hours=1))

    admin.post(url, sent)

    assert not is_done()


def test_the_firms_settings_are_shown_to_its_admin_and_stored_after_the_question(admin, firm):
    url = reverse("accounts:firm-settings")
    page = as_shown(admin.get(url).content.decode())

    asked = admin.post(url, page | {"name": "Other name"})
    firm.organisation.refresh_from_db()
    before = firm.organisation.name
    admin.post(asked.url, {"password": PASSWORD})

    firm.organisation.refresh_from_db()
    assert asked.url.startswith(AGAIN)
    assert before != "Other name" == firm.organisation.name


def test_an_archive_that_was_made_is_handed_out_only_then(admin, firm):
    export = DataExport(organisation=firm.organisation, made_by=firm.admin, state=JobState.DONE)
    export.content.save("", ContentFile(b"made"), save=True)
    url = reverse("exchange:export-download", args=[export.pk])

    asked = admin.get(url)
    handed_out = admin.post(asked.url, {"password": PASSWORD}, follow=True)

    assert asked.url.startswith(AGAIN)
    assert handed_out.getvalue() == b"made"


@pytest.mark.parametrize(("person", "status"), [("technician", 403), ("owner_person", 404)])
def test_who_may_not_is_told_so_without_a_question(client, firm, person, status):
    client.force_login(getattr(firm, person))
    url, sent, is_done = to_remove_somebody(firm)

    assert client.post(url, sent).status_code == status
    assert not is_done()


@pytest.mark.parametrize("path", ["/back-office/", "/back-office/accounts/user/"])
def test_the_back_office_is_looked_into_only_by_who_has_just_confirmed_who_they_are(client, path):
    client.force_login(User.objects.create_superuser("root@firm.example", PASSWORD))

    asked = client.get(path)
    seen = confirm(client).get(path)

    assert (asked.status_code, asked.url.split("?")[0]) == (302, AGAIN)
    assert seen.status_code == 200


def test_the_back_office_asks_nobody_for_a_password_who_may_not_enter_anyway(client, firm):
    client.force_login(firm.admin)

    assert not client.get("/back-office/").url.startswith(AGAIN)


@pytest.mark.parametrize("route", ["accounts:firm-settings", "accounts:member-invite"])
def test_a_form_may_be_looked_at_without(admin, route):
    assert admin.get(reverse(route)).status_code == 200
