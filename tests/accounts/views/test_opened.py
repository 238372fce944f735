"""What a person opened lately."""

from types import SimpleNamespace

import pytest
from django.test import RequestFactory

from accounts.models import Organisation, Owner
from accounts.views.opened import MOST_KEPT, note_opened, opened_lately


@pytest.fixture
def visit():
    """A request of somebody who acts for a firm, or for none."""
    session = {}

    def made(firm=None, **headers):
        request = RequestFactory().get("/", headers=headers)
        request.session, request.current = session, SimpleNamespace(organisation=firm)
        return request

    return made


def test_the_latest_comes_first_and_each_once(visit):
    first, second = Owner(name="A"), Owner(name="B")

    for row in (first, second, first):
        note_opened(visit(), row)

    assert opened_lately(visit()) == [["owner", str(first.pk)], ["owner", str(second.pk)]]


def test_only_so_many_are_kept(visit):
    rows = [Owner() for _ in range(MOST_KEPT + 3)]

    for row in rows:
        note_opened(visit(), row)

    assert [key for _, key in opened_lately(visit())] == [str(row.pk) for row in reversed(rows)][:MOST_KEPT]


def test_each_firm_has_its_own(visit):
    here, there = Organisation(name="A"), Organisation(name="B")
    note_opened(visit(here), Owner())

    assert opened_lately(visit(there)) == []
    assert len(opened_lately(visit(here))) == 1


@pytest.mark.parametrize(("dest", "kept"), [("document", 1), ("empty", 0), ("serviceworker", 0)])
def test_what_a_script_fetches_was_not_opened(visit, dest, kept):
    note_opened(visit(**{"Sec-Fetch-Dest": dest}), Owner())

    assert len(opened_lately(visit())) == kept


def test_opening_the_same_again_stores_nothing(visit):
    row = Owner()
    note_opened(visit(), row)
    request = visit()
    before = request.session["opened"]

    note_opened(request, row)

    assert request.session["opened"] is before
