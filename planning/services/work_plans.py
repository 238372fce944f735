"""Plans of work: asking for one, making it in the background, and what people do with it."""

from dataclasses import replace
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.notices import NoticeKind
from accounts.models import User
from accounts.services.telling import News, tell_firm
from core.calc.format import day as day_words
from core.calc.jobs import JobState
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services import jobs
from core.services.records import save_once
from maintenance.calc.vocabulary import Action
from maintenance.models import Recommendation
from maintenance.selectors.care import offered_terms
from maintenance.services.cleanings import terms_of
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.check import faults
from planning.calc.routing.windows import Effort, make_plan
from planning.calc.vocabulary import Moment, TestsBeside, VisitStatus
from planning.models import Crew, Visit, VisitTask, WorkPlan
from planning.presentation.planned_work import title_of
from planning.selectors.due_work import work_for_crews
from planning.selectors.work_orders import Period
from planning.selectors.work_plans import moved, objections, result_of, together
from planning.selectors.work_problem import Gathered, gather
from planning.services import day_end, visits
from planning.services.visit_changes import set_times
from qa.models import InspectionFinding, Surface
from qa.selectors.days import firm_today

UNFINISHED = gettext_noop("The plan is still being made. Wait for it, or stop with the best so far.")
GONE = gettext_noop(
    "%(title)s at %(where)s is not to be planned any more: it was planned, done or declined meanwhile."
)
NO_ROOM = gettext_noop(
    "%(title)s at %(where)s does not fit %(crew)s on %(day)s. Take another day, or move other work first."
)
BREAKS = gettext_noop(
    "With %(title)s at %(where)s moved to %(crew)s on %(day)s other work of the plan would not hold any more."
    " Take another day, or make a new plan."
)
SETTLED = gettext_noop("%(title)s at %(where)s is on a visit already. Change that visit instead.")
NOT_THERE = gettext_noop("%(key)s is not in the plan any more. Reload the page.")
WITHOUT_CLEANING = gettext_noop(
    "%(title)s at %(where)s stands with a cleaning that is not on a visit yet. Accept its day, %(day)s."
)
CHANGED = gettext_noop(
    "The day of %(day)s was changed or accepted meanwhile: reload the page and look at it again."
)
TESTED_ALREADY = gettext_noop("%(title)s at %(where)s is on a visit already. Make a new plan.")
PAST = gettext_noop("%(day)s is in the past. Give a day from today on.")


@transaction.atomic
def request_plan(*, plan: WorkPlan) -> WorkPlan:
    """Ask for a plan; it is made in the background."""
    today = firm_today(plan.organisation)
    if plan.first_on < today:
        raise ValidationError(
            {"first_on": ValidationError(_(PAST), params={"day": day_words(plan.first_on)})}
        )
    plan = save_once(plan, organisation=plan.organisation_id)
    jobs.nudge(plan)
    return plan


def ask_to_stop(*, plan: WorkPlan) -> None:
    """End the search with the best plan found so far."""
    WorkPlan.objects.filter(pk=plan.pk).update(stop_asked=True)


@jobs.works_on(WorkPlan)
def make_work_plan(plan: WorkPlan, claim: jobs.Claim) -> None:
    """Gather the work, search, check, store. A plan that the checker refuses is never shown."""
    gathered = gathered_for(plan)
    claim.progress(0, 100, gettext_noop("gathering the work"))

    def told(share: float, value: float) -> bool:
        claim.progress(round(100 * share), 100, gettext_noop("looking for better routes"))
        return not WorkPlan.objects.filter(pk=plan.pk, stop_asked=True).exists()

    found = make_plan(gathered.problem, Effort(seed=plan.seed).for_size(gathered.problem), told)
    wrong = faults(gathered.problem, found)
    if wrong:
        raise ValueError(f"A plan does not hold: {'; '.join(wrong[:5])}")
    with transaction.atomic():
        claim.finish(result_json=result_of(gathered, found).to_json(), stop_asked=False)
        _tell_finished(plan)


def _tell_finished(plan: WorkPlan) -> None:
    if plan.made_by_id is None:
        return

    def text() -> str:
        return _("The plan of work from {day} is made.").format(day=day_words(plan.first_on))

    news = News(NoticeKind.FINISHED, plan.organisation, plan, text, plan.get_absolute_url())
    tell_firm(news=news, to=[plan.made_by_id])


def gathered_for(plan: WorkPlan) -> Gathered:
    """What a plan rests on, as it is recorded now."""
    organisation = plan.organisation
    terms = offered_terms(terms_of(organisation))
    period = Period(plan.first_on, plan.days, firm_today(organisation))
    return gather(organisation, terms, period, TestsBeside(plan.tests_beside))


@transaction.atomic
def accept_days(*, plan: WorkPlan, days: list[PlannedDay], by: User) -> int:
    """Make visits of some days of a plan, all or none; returns how many tasks were put on visits.

    Work that takes several days brings its other days with it. Raises NotAllowedNowError where somebody planned, did or
    declined a piece of the work or changed a day meanwhile, and for a test without the cleaning it stands beside.
    """
    plan, result = _locked(plan)
    _refuse_changed(result, days)
    days = list(result.with_rest(days))
    _refuse_tests_alone(result, days)
    _refuse_done(plan, days)
    count, kept, begun = 0, [], set[str]()
    for day in result.days:
        if day not in days or not day.is_new:
            kept.append(day)
            continue
        crew = Crew.objects.of_organisation(plan.organisation).get(pk=day.crew)
        for stop in day.stops:
            if not stop.is_settled:
                put = _go_on if stop.key in begun else _put_on_visit
                put(plan, stop, crew, day.on, by)
                begun.add(stop.key)
                count += 1
        set_times(crew=crew, day=day)
        kept.append(replace(day, accepted=True))
    _store(plan, replace(result, days=tuple(kept)))
    return count


def _refuse_changed(result: WorkPlanResult, days: list[PlannedDay]) -> None:
    """A day is accepted as it was looked at, or not at all."""
    changed = [day for day in days if day not in result.days]
    if changed:
        raise NotAllowedNowError(_(CHANGED) % {"day": day_words(changed[0].on)})


def _refuse_done(plan: WorkPlan, days: list[PlannedDay]) -> None:
    """Of what falls due because it was built: that nobody planned or did it meanwhile."""
    due = [stop for day in days for stop in day.stops if stop.due_by]
    still = {(w.due.kind, w.place.pk) for w in work_for_crews(plan.organisation, now())} if due else set()
    for stop in due:
        if (stop.due_by, stop.surface) not in still:
            raise NotAllowedNowError(_(GONE) % {"title": title_of(stop), "where": stop.where})


def _refuse_tests_alone(result: WorkPlanResult, days: list[PlannedDay]) -> None:
    on_day = {stop.key: day for day in result.days for stop in day.stops}
    for stop in (stop for day in days for stop in day.stops if stop.is_made):
        day = on_day.get(stop.beside)
        if day is not None and not (day in days or day.accepted or stop.beside.startswith("task ")):
            params = {"title": title_of(stop), "where": stop.where, "day": day_words(day.on)}
            raise NotAllowedNowError(_(WITHOUT_CLEANING) % params)


def _put_on_visit(plan: WorkPlan, stop: PlannedStop, crew: Crew, on: date, by: User) -> object:
    kind, _, pk = stop.key.partition(" ")
    if stop.is_made:
        return _add_test(plan, stop, crew, on, by)
    if kind == "advice":
        row = Recommendation.objects.of_organisation(plan.organisation).get(pk=pk)
        moment = Moment.BEFORE if stop.beside else ""
        return visits.plan(recommendation=row, by=by, visit_on=on, crew=crew, moment=moment)
    if kind == "rest":
        task = VisitTask.objects.of_organisation(plan.organisation).get(pk=pk)
        return day_end.plan_left(task=task, by=by, visit_on=on, crew=crew)
    if stop.due_by:
        return _due_on(plan, visits.visit_for(by, on, crew, plan.organisation), stop)
    finding = InspectionFinding.objects.of_organisation(plan.organisation).get(pk=pk)
    return visits.plan_finding(finding=finding, by=by, visit_on=on, crew=crew)


def _go_on(plan: WorkPlan, stop: PlannedStop, crew: Crew, on: date, by: User) -> VisitTask:
    """A further day of work that takes several, whose first this acceptance has put on a visit."""
    kind, _, pk = stop.key.partition(" ")
    visit = visits.visit_for(by, on, crew, plan.organisation)
    if stop.is_made:
        return _test_on(plan, visit, stop)
    if stop.due_by:
        return _due_on(plan, visit, stop)
    if kind == "rest":
        task = VisitTask.objects.of_organisation(plan.organisation).select_related("surface").get(pk=pk)
        return visits.add_task(
            visit=visit, surface=task.surface, action=task.action, method=task.method, follows=task
        )
    row = Recommendation.objects.of_organisation(plan.organisation).get(pk=pk)
    return visits.add_task(
        visit=visit, surface=row.surface, action=row.action, method=row.method, recommendation=row
    )


def _add_test(plan: WorkPlan, stop: PlannedStop, crew: Crew, on: date, by: User) -> VisitTask:
    same = VisitTask.objects.filter(
        surface=stop.surface,
        moment=stop.key.partition(" ")[0],
        ended_at=None,
        visit__status=VisitStatus.SCHEDULED,
    )
    if same.exists():
        raise AlreadyDoneError(_(TESTED_ALREADY) % {"title": title_of(stop), "where": stop.where})
    return _test_on(plan, visits.visit_for(by, on, crew, plan.organisation), stop)


def _due_on(plan: WorkPlan, visit: Visit, stop: PlannedStop) -> VisitTask:
    surface = Surface.objects.of_organisation(plan.organisation).get(pk=stop.surface)
    action = stop.due_by.work if stop.due_by else None
    if action is None:
        raise ValueError(f"No crew goes out for {stop.key}.")
    return visits.add_task(visit=visit, surface=surface, action=action)


def _test_on(plan: WorkPlan, visit: Visit, stop: PlannedStop) -> VisitTask:
    surface = Surface.objects.of_organisation(plan.organisation).get(pk=stop.surface)
    moment = Moment(stop.key.partition(" ")[0])
    return visits.add_task(visit=visit, surface=surface, action=Action.TEST, moment=moment)


@transaction.atomic
def move_work(*, plan: WorkPlan, key: str, crew: Crew, on: date) -> WorkPlan:
    """Put one piece of work on another crew's day, or on another day, where it fits; the rest stays as it is.

    Raises ValidationError in words where it does not fit, NotAllowedNowError where it is not to be planned any more.
    """
    plan, result = _locked(plan)
    named = _named(result, key)
    gathered = gathered_for(plan)
    if key not in gathered.problem.by_key:
        raise NotAllowedNowError(_(GONE) % named)
    target = result.day_of(crew.pk, on)
    if result.is_settled(key) or (target is not None and target.accepted):
        raise NotAllowedNowError(_(SETTLED) % named)
    keys = together(result, key)
    gone = [each for each in keys if each not in gathered.problem.by_key]
    if gone:
        raise NotAllowedNowError(_(GONE) % _named(result, gone[0]))
    changed = moved(gathered, result, keys, (crew.pk, on))
    if changed is None or objections(gathered, result, changed):
        params = named | {"crew": crew, "day": day_words(on)}
        said = _(NO_ROOM) if changed is None else _(BREAKS)
        raise ValidationError({"on": ValidationError(said, params=params)})
    return _store(plan, changed)


def _named(result: WorkPlanResult, key: str) -> dict[str, str]:
    placed: list[PlannedStop | LeftOut] = [stop for day in result.days for stop in day.stops]
    for each in (*placed, *result.left):
        if each.key == key:
            return {"title": title_of(each), "where": each.where}
    raise ValidationError(_(NOT_THERE), params={"key": key})


def _locked(plan: WorkPlan) -> tuple[WorkPlan, WorkPlanResult]:
    plan = WorkPlan.objects.select_for_update(of=("self",)).select_related("organisation").get(pk=plan.pk)
    result = plan.result
    if plan.state != JobState.DONE or result is None:
        raise NotAllowedNowError(_(UNFINISHED))
    return plan, result


def _store(plan: WorkPlan, result: WorkPlanResult) -> WorkPlan:
    plan.result = result
    plan.save(update_fields=["result_json"])
    return plan
