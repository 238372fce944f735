"""The day of a crew as it is read: constant queries, whatever stands on it."""

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from maintenance.models import Recommendation
from planning.presentation.crew_days import stop_lines
from planning.selectors.crew_days import crew_day
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    OwnerFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)


def advised(surface):
    return Recommendation.objects.create(
        surface=surface,
        action="clean",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        grounds=BECAUSE,
    )


def cleaned(firm, visit, number):
    """Tasks that were done by advice, each at a site of its own, and a test that follows each."""
    for _ in range(number):
        surface = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
        task = VisitTaskFactory(
            visit=visit,
            surface=surface,
            action="clean",
            method="vacuum",
            recommendation=advised(surface),
            cleaning=CleaningFactory(surface=surface, cleaned_on=TODAY),
            outcome="done",
            ended_at=now(),
        )
        VisitTaskFactory(visit=visit, surface=surface, action="test", follows=task)


def asked(crew):
    with CaptureQueriesContext(connection) as seen:
        lines = stop_lines(crew_day(crew, TODAY))
    return len(seen), sum(len(line.tasks) for line in lines)


def test_a_crews_day_takes_as_many_queries_for_one_stop_as_for_eight(firm):
    crew = CrewFactory(organisation=firm.organisation)
    visit = VisitFactory(crew=crew, visit_on=TODAY)
    cleaned(firm, visit, 1)
    few, _ = asked(crew)

    cleaned(firm, visit, 7)
    many, tasks = asked(crew)

    assert many == few
    assert tasks == 16
