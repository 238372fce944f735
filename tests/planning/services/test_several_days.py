"""Advice whose work takes several days: what one of them says about it, and what the last."""

from datetime import timedelta

import pytest

from planning.calc.vocabulary import TaskOutcome
from planning.services import day_end, visits
from planning.services.day_end import Told
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    RecommendationFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def advice(firm):
    return RecommendationFactory(surface=firm.surface, status="planned")


@pytest.fixture
def two_days(firm, advice):
    crew = CrewFactory(organisation=firm.organisation)
    trips = [
        VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + i * DAY) for i in (0, 1)
    ]
    return [
        VisitTaskFactory(
            visit=visit, surface=firm.surface, action="clean", method="vacuum", recommendation=advice
        )
        for visit in trips
    ]


def end(task, how):
    if how == "not done":
        day_end.tell_day(visit=task.visit, told=[Told(task, TaskOutcome.NOT_DONE, "Rain.")])
    elif how == "taken off":
        visits.remove_task(task=task)
    elif how == "called off":
        visits.cancel_visit(visit=task.visit, reason="Rain.")
    else:
        share = {"done": 1.0, "part": 0.5}[how]
        event = CleaningFactory(surface=task.surface, cleaned_on=task.visit.visit_on, share_of_area=share)
        visits.finish_task(task=task, cleaning=event)


def status(advice):
    advice.refresh_from_db()
    return advice.status


@pytest.mark.parametrize("how", ["done", "part", "not done", "taken off", "called off"])
def test_while_another_day_of_it_is_ahead_advice_stays_planned(advice, two_days, how):
    end(two_days[0], how)

    assert status(advice) == "planned"


@pytest.mark.parametrize(
    ("first", "second", "stands"),
    [
        ("done", "done", "done"),
        ("done", "part", "overtaken"),
        ("part", "done", "overtaken"),
        ("not done", "done", "overtaken"),
        ("done", "not done", "overtaken"),
        ("done", "taken off", "overtaken"),
        ("called off", "done", "overtaken"),
        ("called off", "called off", "overtaken"),
    ],
)
def test_the_last_day_says_how_advice_ended(advice, two_days, first, second, stands):
    end(two_days[0], first)
    end(two_days[1], second)

    assert status(advice) == stands


def test_the_days_of_two_pieces_of_advice_are_kept_apart(firm, advice, two_days):
    other = RecommendationFactory(surface=firm.surface, action="inspect", method="", status="planned")
    VisitTaskFactory(
        visit=two_days[0].visit, surface=firm.surface, action="inspect", method="", recommendation=other
    )

    end(two_days[0], "called off")

    assert (status(advice), status(other)) == ("planned", "overtaken")
