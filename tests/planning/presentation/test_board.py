"""A board shows a week of some crews; the others are a link away, and nothing is lost on the way."""

from datetime import date, timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest

from core.calc.format import money
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.reasons import Why
from planning.forms.work_plans import BoardForm
from planning.models import Crew, WorkPlan
from planning.presentation.work_plans import CREWS_A_PAGE, LEFT_A_PAGE, Asked, board_of

MONDAY = date(2026, 6, 1)


@pytest.fixture
def firm():
    crews = [Crew(name=f"Crew {i:02}") for i in range(CREWS_A_PAGE + 3)]
    days = tuple(
        PlannedDay(
            crew.pk,
            MONDAY + timedelta(days=7 * week + i % 5),
            480,
            700,
            480,
            40,
            30.0,
            25.0,
            (PlannedStop(f"advice {week}{i}", "Clean", uuid4(), "Yard", 500, 680, 90.0, 120.0),),
        )
        for week in range(3)
        for i, crew in enumerate(crews)
    )
    left = tuple(
        LeftOut(f"advice x{i}", "Test", uuid4(), "Yard", Why.TAKEN, 60, 10.0) for i in range(LEFT_A_PAGE + 5)
    )
    plan = WorkPlan(first_on=MONDAY, days=21)
    plan.__dict__["organisation"] = SimpleNamespace(currency="EUR")
    plan._state.fields_cache["organisation"] = SimpleNamespace(currency="EUR", pk=uuid4())
    return SimpleNamespace(plan=plan, crews=crews, result=WorkPlanResult(days, left, 100, 10.0))


def board(firm, **asked):
    return board_of(firm.plan, firm.result, firm.crews, Asked(**asked))


def keys(shown):
    return [stop.key for _, cells in shown.week.rows for cell in cells for stop in cell.stops]


def test_the_first_page_is_the_first_week_of_the_first_crews(firm):
    shown = board(firm)

    assert shown.week.title == "Week from 1\u00a0Jun\u00a02026"
    assert [name for name, _ in shown.week.rows] == [crew.name for crew in firm.crews[:CREWS_A_PAGE]]
    assert [part.is_shown for part in shown.weeks] == [True, False, False]
    assert len(shown.left) == LEFT_A_PAGE


def test_all_pages_together_show_everything_once(firm):
    weeks = [MONDAY + timedelta(days=7 * i) for i in range(3)]

    seen = [key for week in weeks for group in (1, 2) for key in keys(board(firm, week=week, crews=group))]
    left = [line.key for page in (1, 2) for line in board(firm, left=page).left]

    assert sorted(seen) == sorted(stop.key for day in firm.result.days for stop in day.stops)
    assert left == [each.key for each in firm.result.left]


def test_a_page_that_is_not_there_shows_the_nearest(firm):
    assert keys(board(firm, crews=99)) == keys(board(firm, crews=2))
    assert keys(board(firm, week=date(2020, 1, 1))) == keys(board(firm))
    assert board(firm, left=99).left == board(firm, left=2).left


def test_forms_lead_back_to_the_part_they_were_sent_from(firm):
    shown = board(firm, week=MONDAY + timedelta(days=9), crews=2)

    assert shown.here.endswith("?week=2026-06-08&crews=2&left=1")
    assert "week%3D2026-06-08%26crews%3D2" in shown.week.rows[0][1][0].stops[0].moving.to


def test_the_crew_that_has_the_work_is_chosen_in_its_list_and_names_are_made_harmless(firm):
    firm.crews[0].name = "<b>One</b>"

    moving = board(firm).week.rows[0][1][0].stops[0].moving

    assert moving.crews.count(" selected") == 1
    assert f'<option value="{firm.crews[0].pk}" selected>&lt;b&gt;One&lt;/b&gt;</option>' in moving.crews


def test_when_the_surface_is_open_again_is_told_beside_the_work(firm):
    day = firm.result.days[0]
    stop = PlannedStop("advice 00", "Restore", uuid4(), "Yard", 500, 680, 90.0, 1.0, 1440, 10080, parts=2)
    changed = PlannedDay(day.crew, day.on, 480, 700, 480, 40, 30.0, 25.0, (stop,), drives=2, measured=1)
    firm.result = WorkPlanResult((changed,), (), 100, 10.0)

    shown = board(firm)

    assert shown.week.rows[0][1][0].stops[0].marks == (
        "one of 2 days",
        "open to people again 2\u00a0Jun\u00a02026, 11:20",
        "open to vehicles again 8\u00a0Jun\u00a02026, 11:20",
    )
    assert shown.notes == (
        "1 of 2 drives are from the firm's own file, the others by great circles and a factor for roads.",
    )


def test_money_of_the_work_stands_beside_that_of_the_drives(firm):
    figures = dict(board(firm).figures)

    assert figures["Work"] == f"99 h 00 min, {money(3960.0, 'EUR')}"


@pytest.mark.parametrize(
    ("sent", "asked"),
    [
        ({}, Asked()),
        ({"week": "2026-06-08", "crews": "2", "left": "3"}, Asked(date(2026, 6, 8), 2, 3)),
        ({"week": "soon", "crews": "-1", "left": "x"}, Asked()),
    ],
)
def test_what_an_address_says_wrongly_is_passed_over(sent, asked):
    assert BoardForm(sent).asked() == asked
