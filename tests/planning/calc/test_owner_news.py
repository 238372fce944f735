"""What is new to somebody about the days of visits."""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from planning.calc.owner_news import Kind, Standing, news_of

TODAY = date(2026, 6, 10)
SOON = TODAY + timedelta(days=3)
LATER = SOON + timedelta(days=4)
VISIT = uuid4()


def stands(on, site="Yard"):
    return {VISIT: Standing(on, site, ("Test, Ramp, Yard",))}


def test_a_visit_nobody_told_of_is_a_new_day():
    (one,) = news_of({}, stands(SOON), {}, TODAY)

    assert (one.kind, one.on, one.was_on, one.work) == (Kind.SET, SOON, None, ("Test, Ramp, Yard",))


def test_another_day_than_was_told_is_a_move_from_that_day():
    (one,) = news_of({VISIT: SOON}, stands(LATER), {}, TODAY)

    assert (one.kind, one.on, one.was_on) == (Kind.MOVED, LATER, SOON)


def test_moved_there_and_back_is_no_news():
    assert news_of({VISIT: SOON}, stands(SOON), {}, TODAY) == ()


def test_what_was_told_and_is_gone_is_cancelled():
    (one,) = news_of({VISIT: SOON}, {}, {VISIT: "Yard"}, TODAY)

    assert (one.kind, one.on, one.site) == (Kind.CANCELLED, SOON, "Yard")


def test_set_again_after_it_was_cancelled_is_a_new_day():
    (one,) = news_of({VISIT: None}, stands(SOON), {}, TODAY)

    assert one.kind is Kind.SET


@pytest.mark.parametrize("told", [{}, {VISIT: None}, {VISIT: TODAY - timedelta(days=1)}])
def test_nobody_hears_of_a_visit_gone_that_they_knew_nothing_of_or_that_is_over(told):
    assert news_of(told, {}, {VISIT: "Yard"}, TODAY) == ()


def test_days_that_are_over_are_no_news_and_today_is():
    assert news_of({}, stands(TODAY - timedelta(days=1)), {}, TODAY) == ()
    assert len(news_of({}, stands(TODAY), {}, TODAY)) == 1


def test_news_come_by_day():
    standing = {uuid4(): Standing(day, "Yard", ()) for day in (LATER, SOON)}

    assert [one.on for one in news_of({}, standing, {}, TODAY)] == [SOON, LATER]
