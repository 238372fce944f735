"""People as they are stored: one address, whatever its case, and a password that nobody reads."""

import pytest
from django.contrib.auth import authenticate
from django.db import IntegrityError, transaction

from accounts.models import User

pytestmark = pytest.mark.django_db
WORD = "soak-away-of-nobody-7"


@pytest.mark.parametrize("email", ["Vera@Firm.example", "VERA@FIRM.EXAMPLE", "vera@firm.EXAMPLE"])
def test_an_address_is_stored_in_small_letters(email):
    assert User.objects.create_user(email, WORD).email == "vera@firm.example"


def test_one_address_in_another_case_is_nobody_else():
    User.objects.create_user("vera@firm.example", WORD)

    with pytest.raises(IntegrityError), transaction.atomic():
        User.objects.create_user("VERA@firm.example", WORD)


@pytest.mark.parametrize("email", ["", None])
def test_nobody_is_without_an_address(email):
    with pytest.raises(ValueError, match="needs an e-mail address"):
        User.objects.create_user(email, WORD)


def test_a_password_is_stored_as_what_nobody_can_read_and_is_known_again():
    user = User.objects.create_user("vera@firm.example", WORD)

    assert WORD not in user.password
    assert user.check_password(WORD)
    assert not user.check_password(WORD.upper())


def test_an_account_without_a_password_lets_nobody_in():
    user = User.objects.create_user("vera@firm.example")

    assert not user.has_usable_password()
    assert authenticate(email=user.email, password="") is None
    assert authenticate(email=user.email, password=user.password) is None


def test_only_who_is_made_for_it_may_use_the_back_office():
    usual = User.objects.create_user("vera@firm.example", WORD)
    staff = User.objects.create_superuser("root@firm.example", WORD)

    assert (usual.is_staff, usual.is_superuser) == (False, False)
    assert (staff.is_staff, staff.is_superuser) == (True, True)


@pytest.mark.parametrize(("name", "shown"), [("Vera Verifier", "Vera Verifier"), ("", "vera@firm.example")])
def test_a_person_is_shown_by_name_else_by_address(name, shown):
    assert str(User(email="vera@firm.example", full_name=name)) == shown
