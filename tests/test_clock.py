"""The clock that every test starts by."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils.timezone import now

from tests.clock import START, TODAY, instant_of
from tests.conftest import CLOCK, pytest_runtest_setup
from tests.factories import SiteFactory

NEXT = timedelta(days=3)


def test_time_that_one_test_moved_or_used_up_is_back_for_the_next(request):
    request.config.stash[CLOCK].traveller.shift(NEXT)
    moved = now()

    pytest_runtest_setup(request.node)

    assert moved >= START + NEXT
    assert START <= now() < START + NEXT


def test_today_is_the_day_at_the_sites_of_the_factories():
    assert SiteFactory.build(owner=None, organisation=None).today(START) == TODAY


def test_an_instant_may_be_given_in_any_zone():
    assert instant_of("2028-02-29T23:59:30+13:00") == datetime(2028, 2, 29, 10, 59, 30, tzinfo=UTC)


def test_an_instant_without_its_offset_is_refused():
    with pytest.raises(ValueError, match="'2028-02-29T23:59:30'; it needs its offset"):
        instant_of("2028-02-29T23:59:30")
