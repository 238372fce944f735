"""One page of a list: its rows, where the next begins, and nothing twice or left out whatever happens in between."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from api.calc.paging import Cursor
from api.selectors.pages import Window, page_of
from qa.models import TestRound
from tests.factories import RoundFactory

pytestmark = pytest.mark.django_db
PATHS = {"surface": "surface", "since": "tested_on__gte"}


@pytest.fixture
def rounds(firm):
    """Seven rounds in the order they were stored, the third to the fifth of them at one instant."""
    made = [RoundFactory(surface=firm.surface) for _ in range(7)]
    for number, row in enumerate(made):
        instant = now() - timedelta(hours=1) + timedelta(seconds=2 if 2 <= number <= 4 else number)
        row.created_at = instant.replace(microsecond=0)
        TestRound.objects.filter(pk=row.pk).update(created_at=row.created_at)
    return sorted(made, key=lambda row: (row.created_at, row.pk))


def page(size, after=None, **narrowed):
    return page_of(TestRound.objects.all(), Window(size, after, narrowed), PATHS)


def walked(size, between=lambda: None):
    found, after = [], None
    while True:
        one = page(size, after)
        found += one.rows
        assert len(found) < 30, "The pages come to no end."
        between()
        if one.after is None:
            return found
        after = one.after


@pytest.mark.parametrize("size", range(1, 9))
def test_pages_of_any_size_hold_every_row_once_in_the_order_of_storing(rounds, size):
    assert walked(size) == rounds


@pytest.mark.parametrize(("size", "more"), [(6, True), (7, False), (8, False)])
def test_a_page_that_just_holds_all_is_the_last(rounds, size, more):
    assert (page(size).after is not None) is more


def test_a_list_without_rows_is_one_empty_page():
    assert page(5) == type(page(5))([], None)


def test_the_place_of_the_next_page_is_that_of_the_last_row_of_this(rounds):
    last = rounds[3]

    assert page(4).after == Cursor(last.created_at, last.pk)


def test_where_the_row_at_the_place_is_gone_the_next_page_begins_after_it_all_the_same(rounds):
    after = page(4).after
    rounds[3].delete()

    assert list(page(9, after).rows) == rounds[4:]


def test_rows_that_are_stored_in_between_come_at_the_end_and_shift_nothing(rounds, firm):
    def one_more():
        if TestRound.objects.count() < 9:
            RoundFactory(surface=firm.surface)

    found = walked(2, one_more)

    assert found[:7] == rounds
    assert len({row.pk for row in found}) == len(found) == 9


def test_beyond_the_last_row_there_is_nothing(rounds):
    last = rounds[-1]

    assert page(5, Cursor(last.created_at, last.pk)).rows == []


def test_a_filter_narrows_and_one_that_the_rows_are_narrowed_by_already_is_passed_over(rounds, firm):
    other = RoundFactory()

    assert set(page(9, surface=firm.surface.pk).rows) == set(rounds)
    assert set(page(9, surface=other.surface_id, site=firm.site.pk).rows) == {other}
    assert len(page(9, site=firm.site.pk).rows) == 8


def test_a_page_is_read_at_once_and_nothing_is_counted(rounds, django_assert_num_queries):
    with django_assert_num_queries(1):
        page(3)
