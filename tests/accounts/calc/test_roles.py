"""Roles as they are stored: rows of people hold these numbers, and a higher one includes the lower."""

from accounts.calc.roles import Role, firm_roles


def test_roles_keep_the_numbers_under_which_they_are_stored():
    assert {role.name: role.value for role in Role} == {
        "OWNER": 10,
        "VIEWER": 20,
        "TECHNICIAN": 30,
        "COORDINATOR": 40,
        "ADMIN": 50,
    }


def test_a_firm_gives_every_role_but_that_of_an_owner():
    assert firm_roles() == [(20, "Viewer"), (30, "Technician"), (40, "Coordinator"), (50, "Admin")]
