"""Visits led through steps at random, by office and crews in any order: work is neither lost nor done twice."""

from datetime import timedelta
from random import Random

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.models import CleaningEvent, Recommendation
from maintenance.services import cleanings
from planning.calc.vocabulary import LEFT, TaskOutcome, VisitStatus
from planning.models import Visit, VisitTask
from planning.selectors.todo import left_over
from planning.services import day_end, matching, visits
from planning.services.day_end import Told
from qa.models import InspectionFinding, Remedy
from qa.services import inspections
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    InspectionFactory,
    InspectionFindingFactory,
    RecommendationFactory,
    SurfaceFactory,
)

pytestmark = pytest.mark.django_db
REFUSALS = (NotAllowedNowError, AlreadyDoneError, ValidationError)
STEPS = 40
DAY = timedelta(days=1)
WHY = "Cars stood on it."


class Walk:
    """A firm with two crews and three surfaces, and steps that somebody may try at any time."""

    def __init__(self, firm, seed):
        self.firm, self.rng, self.by = firm, Random(seed), firm.coordinator
        self.crews = [CrewFactory(organisation=firm.organisation) for _ in range(2)]
        self.surfaces = [firm.surface, *(SurfaceFactory(site=firm.site) for _ in range(2))]
        self.tried, self.done = {}, 0
        for surface in self.surfaces:
            RecommendationFactory(surface=surface)

    def step(self):
        """Try one step; a refusal is an answer too, and changes nothing."""
        steps = [
            self.advise,
            self.find,
            self.by_hand,
            self.plan,
            self.plan,
            self.plan,
            self.plan_finding,
            self.sweep,
        ]
        steps += [
            self.sweep,
            self.correct,
            self.set_aside,
            self.tell,
            self.tell,
            self.take_off,
            self.call_off,
        ]
        steps += [self.again, self.give_up, self.move, self.put_right]
        step = self.rng.choice(steps)
        try:
            step()
            self.done += 1
            self.tried[step.__name__] = self.tried.get(step.__name__, 0) + 1
        except (*REFUSALS, IndexError):  # refused, or there is nothing to do it with
            pass

    def one(self, rows, **likely):
        """One of the rows, in an order of their own; mostly one of those with which a step is likely to be taken."""
        better = list(rows.filter(**likely).order_by("created_at"))
        if better and self.rng.random() < 0.8:
            return self.rng.choice(better)
        return self.rng.choice(list(rows.order_by("created_at")))

    def somewhere(self):
        return {"visit_on": TODAY + self.rng.randrange(3) * DAY, "crew": self.rng.choice(self.crews)}

    def advise(self):
        surface = self.rng.choice(self.surfaces)
        if not surface.recommendations.filter(action="clean", status__in=("open", "planned")).exists():
            RecommendationFactory(surface=surface)

    def find(self):
        InspectionFindingFactory(inspection=InspectionFactory(surface=self.rng.choice(self.surfaces)))

    def plan(self):
        row = self.one(Recommendation.objects.all(), status="open")
        visits.plan(recommendation=row, by=self.by, **self.somewhere())

    def plan_finding(self):
        visits.plan_finding(finding=self.one(InspectionFinding.objects.all()), by=self.by, **self.somewhere())

    def by_hand(self):
        visit = visits.visit_for(self.by, organisation=self.firm.organisation, **self.somewhere())
        surface = self.rng.choice(self.surfaces)
        visits.add_task(visit=visit, surface=surface, action="clean", method="vacuum")

    def sweep(self):
        surface = self.rng.choice(self.surfaces)
        share = self.rng.choice([1.0, 1.0, 0.5])
        event = CleaningEvent(surface=surface, cleaned_on=TODAY, method="vacuum", share_of_area=share)
        cleanings.record_cleaning(event=event, by=self.firm.technician)
        matching.match_records_to_tasks(surface=surface)

    def correct(self):
        old = self.one(CleaningEvent.objects.active(), visit_task__isnull=False)
        new = CleaningEvent(cleaned_on=old.cleaned_on, method="vacuum", share_of_area=1.5 - old.share_of_area)
        cleanings.correct_cleaning(old=old, new=new, by=self.by, reason="Counted anew.")

    def set_aside(self):
        event = self.one(CleaningEvent.objects.active(), visit_task__isnull=False)
        cleanings.void_cleaning(event=event, by=self.by, reason="Another yard.")

    def tell(self):
        task = self.one(VisitTask.objects.all())
        outcome = self.rng.choice([TaskOutcome.NOT_DONE, TaskOutcome.PART, TaskOutcome.DONE])
        day_end.tell_day(visit=task.visit, told=[Told(task, outcome, WHY)])

    def take_off(self):
        visits.remove_task(task=self.one(VisitTask.objects.all(), ended_at=None))

    def call_off(self):
        visits.cancel_visit(visit=self.one(Visit.objects.all(), status="scheduled"), reason="Rain.")

    def again(self):
        day_end.plan_left(
            task=self.one(VisitTask.objects.all(), outcome__in=LEFT), by=self.by, **self.somewhere()
        )

    def give_up(self):
        day_end.give_up_left(task=self.one(VisitTask.objects.all(), outcome__in=LEFT), reason="Dug up.")

    def move(self):
        visit, to = self.one(Visit.objects.all()), self.somewhere()
        visit.visit_on, visit.crew = to["visit_on"], to["crew"]
        visits.save_visit(visit=visit)

    def put_right(self):
        finding = self.one(InspectionFinding.objects.all())
        remedy = Remedy(finding=finding, done_on=TODAY, what="Kerb set.", done_by="Crew 1")
        inspections.record_remedy(remedy=remedy, by=self.firm.technician)
        matching.match_records_to_tasks(surface=finding.surface)


@pytest.mark.parametrize("seed", range(6))
def test_whatever_is_tried_work_stands_where_it_should(firm, seed):
    walk = Walk(firm, seed)

    for _ in range(STEPS):
        walk.step()
        assert_advice_stands_where_it_is_planned()
        assert_findings_stand_once()
        assert_visits_are_as_their_tasks()
        assert_a_record_proves_one_task()
        assert_what_is_left_is_told(firm)

    assert walk.done > STEPS / 4, walk.tried


def stands(task):
    return not task.has_ended and task.visit.is_scheduled


def tasks_by(name):
    found = {}
    for task in VisitTask.objects.select_related("visit"):
        found.setdefault(getattr(task, name), []).append(task)
    return found


def assert_advice_stands_where_it_is_planned():
    """Planned advice has a day ahead of it, and what has one is planned."""
    tasks = tasks_by("recommendation_id")
    for row in Recommendation.objects.all():
        ahead = [task for task in tasks.get(row.pk, []) if stands(task)]
        assert bool(ahead) == (row.status == "planned"), (row.status, tasks.get(row.pk))
        if row.status == "done":
            assert all(task.outcome == TaskOutcome.DONE or task.outcome in LEFT for task in tasks[row.pk])


def assert_findings_stand_once():
    """A finding is on one visit ahead at most; one that is on it is open, until its record is looked for."""
    tasks = tasks_by("inspection_finding_id")
    tasks.pop(None, None)
    for of_finding in tasks.values():
        assert sum(stands(task) for task in of_finding) <= 1


def assert_visits_are_as_their_tasks():
    for visit in Visit.objects.prefetch_related("tasks"):
        tasks = list(visit.tasks.all())
        if visit.status == VisitStatus.DONE:
            assert all(task.has_ended for task in tasks)
        if visit.is_scheduled and tasks:
            assert not all(task.has_ended for task in tasks)
        if visit.is_cancelled:
            assert visit.cancel_reason


def assert_a_record_proves_one_task():
    """A cleaning that counts stands behind one task; a task that is done has what shows it."""
    for task in VisitTask.objects.select_related("cleaning", "visit"):
        if task.cleaning is not None:
            assert task.cleaning.state != "replaced"  # its correction took its place
        if task.is_done:
            assert task.cleaning is not None or task.finding


def assert_what_is_left_is_told(firm):
    """What was added by hand and of which something is left is told, until it stands or is done elsewhere."""
    told = set(left_over(firm.coordinator, firm.organisation).values_list("pk", flat=True))
    for task in VisitTask.objects.filter(recommendation=None, inspection_finding=None):
        again = [row for row in task.followed_by.select_related("visit") if row.has_ended or stands(row)]
        assert (task.pk in told) == (task.outcome in LEFT and not again)
