"""Which kinds each role can get, and which start switched on."""

import pytest

from accounts.calc.notices import TERMS, NoticeKind, kinds_for, usual_way
from accounts.calc.roles import Role

FIRM = (Role.VIEWER, Role.TECHNICIAN, Role.COORDINATOR, Role.ADMIN)
# Told by hand: the least role in the firm, and whether an owner's people get it.
GETS = {
    NoticeKind.VISIT: (Role.VIEWER, False),
    NoticeKind.LIMIT: (Role.VIEWER, False),
    NoticeKind.REPORT: (Role.COORDINATOR, False),
    NoticeKind.APPROVAL: (None, True),
    NoticeKind.ANSWER: (Role.COORDINATOR, False),
    NoticeKind.QUESTION: (Role.COORDINATOR, False),
    NoticeKind.REPLY: (None, True),
    NoticeKind.ENTRY: (Role.COORDINATOR, False),
    NoticeKind.LINK: (Role.COORDINATOR, False),
    NoticeKind.FAILED: (Role.ADMIN, False),
    NoticeKind.FINISHED: (Role.TECHNICIAN, False),
}


def test_every_kind_has_its_terms():
    assert set(GETS) == set(TERMS) == set(NoticeKind)


@pytest.mark.parametrize("role", list(Role))
def test_each_role_gets_its_kinds_and_no_others(role):
    expected = {
        kind
        for kind, (least, owners) in GETS.items()
        if (owners if role == Role.OWNER else least is not None and role >= least)
    }

    assert set(kinds_for([role])) == expected


@pytest.mark.parametrize("role", list(Role))
def test_nothing_starts_on_that_the_role_cannot_get(role):
    for kind in set(NoticeKind) - set(kinds_for([role])):
        assert not usual_way(kind, [role]).reaches


def test_a_limit_starts_on_for_who_plans_and_off_for_who_does_not():
    on = [usual_way(NoticeKind.LIMIT, [role]).reaches for role in FIRM]

    assert on == [False, False, True, True]


def test_what_is_mailed_at_once_is_not_mailed_again_unless_asked_for():
    at_once = {NoticeKind.APPROVAL, NoticeKind.REPLY, NoticeKind.ANSWER, NoticeKind.QUESTION}
    everybody = [Role.OWNER, Role.ADMIN]

    for kind in at_once:
        assert (usual_way(kind, everybody).in_app, usual_way(kind, everybody).by_mail) == (True, False)


def test_who_works_for_a_firm_and_reads_for_an_owner_of_it_gets_the_kinds_of_both():
    both = kinds_for([Role.COORDINATOR, Role.OWNER])

    assert {NoticeKind.REPORT, NoticeKind.REPLY} <= set(both)
    assert NoticeKind.FAILED not in both
