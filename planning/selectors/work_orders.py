"""What there is to do at a firm within some days: advice, findings, tasks on visits, and tests beside cleanings."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from uuid import UUID

from django.db.models import QuerySet
from django.utils.timezone import now

from accounts.models import Organisation
from core.calc.format import labelled
from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Action
from maintenance.models import Recommendation
from planning.calc.due import LAST_LOOK, TEST_BEFORE_END, DueKind
from planning.calc.plan_payload import Wording
from planning.calc.routing.problem import Side, Tie
from planning.calc.vocabulary import Moment, TestsBeside, VisitStatus
from planning.calc.work_orders import PLAIN_WORTH, worth_of
from planning.models import VisitTask
from planning.selectors.due_work import work_for_crews
from planning.selectors.parts import left_by_task, part_by_task, shares_of
from planning.selectors.todo import without_plan
from qa.models import InspectionFinding, Surface

SOONER = {  # how long before its day work that falls due may be done
    DueKind.TOP_UP: timedelta(days=30),  # our judgement
    DueKind.GUARANTEE: LAST_LOOK - TEST_BEFORE_END,  # an earlier test would not count as the last one
}
SETTLED_WITHIN = 366  # days: what people put on visits themselves is held to its side of the cleaning alone


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to do, before it is known who may do it. method: of a cleaning, else empty.

    visits: on how many it is, each of which does its part; ends: whether this is the last of them
    share: of the surface that is to be done; moment: of a test beside a cleaning; finding: what is to be corrected
    """

    key: str
    title: str
    surface: Surface
    action: Action
    method: str
    worth: float
    earliest: date
    fixed: tuple[UUID, date] | None = None
    visits: int = 1
    ends: bool = True
    share: float = 1.0
    tie: Tie | None = None
    moment: str = ""
    finding: InspectionFinding | None = None

    @property
    def wording(self) -> Wording:
        """What it is, as a plan keeps it."""
        kind, found = self.key.partition(" ")[0], self.finding
        return Wording(
            self.action.value,
            self.method,
            self.moment,
            kind if kind in DueKind.values else "",
            found.item if found else "",
            found.what if found else "",
        )

    @property
    def is_made(self) -> bool:
        """Whether it is a test that the plan puts beside a cleaning, and nobody advised."""
        return bool(self.moment) and self.fixed is None

    @property
    def cleans(self) -> bool:
        """Whether it is a cleaning that tests stand beside: leaves swept off change no rate."""
        return self.action.cleans and self.method not in ("", CleaningMethod.BROOM)


@dataclass(frozen=True, slots=True)
class Period:
    """Days of a plan, and the day it is where the firm is."""

    first_on: date
    days: int
    today: date

    @property
    def last_on(self) -> date:
        """The last of the days."""
        return self.first_on + timedelta(days=self.days - 1)


def asks(
    organisation: Organisation, period: Period, tests_beside: TestsBeside
) -> tuple[list[Ask], list[Ask]]:
    """What there is to do, and what a person has to decide on first."""
    tasks = list(_tasks(organisation, period))
    advised = list(_advice(organisation).filter(earliest_on__lte=period.last_on))
    undecided = [_of_advice(row, period) for row in advised if row.wants_word]
    found = [
        *(_of_advice(row, period) for row in advised if not row.wants_word),
        *_of_findings(organisation, period),
        *_of_due(organisation, period),
        *_of_rests(organisation, period),
        *_of_tasks(tasks, period),
    ]
    return list(_beside_cleanings(found, tasks, tests_beside)), undecided


def _advice(organisation: Organisation) -> QuerySet[Recommendation]:
    rows = Recommendation.objects.of_organisation(organisation).open().filter(surface__removed_on=None)
    return rows.select_related("surface__site")


def _of_advice(row: Recommendation, period: Period) -> Ask:
    grounds = row.grounds
    saves = float(grounds.saves) if grounds and grounds.saves is not None else None
    worth = worth_of(saves, row.due_on, period.today)
    return Ask(
        f"advice {row.pk}", row.title, row.surface, Action(row.action), row.method, worth, row.earliest_on
    )


def _of_findings(organisation: Organisation, period: Period) -> Iterator[Ask]:
    for finding in without_plan(InspectionFinding.objects.of_organisation(organisation)):
        worth = worth_of(None, finding.due_on or period.today, period.today)
        title = labelled(Action.REPAIR.label, finding)
        key = f"finding {finding.pk}"
        ask = Ask(key, title, finding.surface, Action.REPAIR, "", worth, period.first_on)
        yield replace(ask, finding=finding)


def _of_due(organisation: Organisation, period: Period) -> Iterator[Ask]:
    """What falls due because a surface was built, from its opening on.

    Of two tests of one surface the first, which does for the other as well, and none where one is advised.
    """
    tested = set[UUID]()
    for work in sorted(work_for_crews(organisation, now()), key=lambda work: work.due.on):
        kind, on, surface = work.due.kind, work.due.on, work.row
        if kind.work is Action.TEST:
            if surface.test_advised or surface.pk in tested:
                continue
            tested.add(surface.pk)
        earliest = max(surface.opened_on, on - SOONER.get(kind, timedelta(0)))
        if kind.work and earliest <= period.last_on:
            worth = worth_of(None, on, period.today)
            yield Ask(f"{kind} {surface.pk}", kind.label, surface, kind.work, "", worth, earliest)


def _of_rests(organisation: Organisation, period: Period) -> Iterator[Ask]:
    """What visits left to do of tasks that were added by hand."""
    rows = VisitTask.objects.of_organisation(organisation).left_over().order_by("ended_at")
    tasks = list(rows.select_related("visit", "surface__site", "cleaning"))
    left = left_by_task(tasks)
    for task in tasks:
        worth = worth_of(None, task.visit.visit_on, period.today)
        yield Ask(
            f"rest {task.pk}",
            task.title,
            task.surface,
            Action(task.action),
            task.method,
            worth,
            period.first_on,
            share=left[task.pk],
        )


def _tasks(organisation: Organisation, period: Period) -> QuerySet[VisitTask]:
    rows = VisitTask.objects.of_organisation(organisation).filter(
        ended_at=None,
        visit__status=VisitStatus.SCHEDULED,
        visit__visit_on__range=(period.first_on, period.last_on),
    )
    found = rows.filter(visit__crew__retired=False).order_by("visit__visit_on", "created_at")
    return found.select_related("visit", "surface__site", "inspection_finding")


def _of_tasks(tasks: Sequence[VisitTask], period: Period) -> Iterator[Ask]:
    parts, shares = part_by_task(tasks), shares_of(tasks)
    for task in tasks:
        part = parts[task.pk]
        fixed = (task.visit.crew_id, task.visit.visit_on)
        yield Ask(
            f"task {task.pk}",
            task.title,
            task.surface,
            Action(task.action),
            task.method,
            0.0,
            period.first_on,
            fixed,
            part.visits,
            part.is_last,
            shares[task.pk],
            moment=task.moment,
            finding=task.inspection_finding,
        )


def _beside_cleanings(
    found: Sequence[Ask], tasks: Sequence[VisitTask], tests_beside: TestsBeside
) -> Iterator[Ask]:
    """All of it, with tests tied to the cleaning of their surface, and those that are to stand beside one.

    A test that is advised where a cleaning is planned stands before it. Of a cleaning on several visits the first has
    the test before, the last the test after.
    """
    cleanings: dict[UUID, list[Ask]] = defaultdict(list)
    for ask in found:
        if ask.cleans:
            cleanings[ask.surface.pk].append(ask)
    has: set[tuple[UUID, str]] = set()
    for ask in found:
        beside = cleanings.get(ask.surface.pk, [])
        tied = _tied(ask, beside) if ask.action is Action.TEST and beside else ask
        if tied.tie is not None:
            has.add((ask.surface.pk, tied.tie.side.value))
        yield tied
    for beside in cleanings.values():
        yield from _made_tests(beside, tasks, tests_beside, has)


def _tied(ask: Ask, cleanings: Sequence[Ask]) -> Ask:
    """A test held to its side of a cleaning; one on a visit only where it was put there for that."""
    settled = [each for each in cleanings if each.fixed is not None]
    if ask.fixed is None:
        return replace(ask, tie=Tie((settled or cleanings)[0].key, Side.BEFORE, alone=True))
    if not ask.moment or not settled:
        return ask
    cleaning = settled[0] if ask.moment == Moment.BEFORE else settled[-1]
    return replace(ask, tie=Tie(cleaning.key, Side(ask.moment), SETTLED_WITHIN, alone=True))


def _made_tests(
    cleanings: Sequence[Ask],
    tasks: Sequence[VisitTask],
    tests_beside: TestsBeside,
    has: set[tuple[UUID, str]],
) -> Iterator[Ask]:
    """Tests that nobody advised, before and after a cleaning, as the plan asks for."""
    wanted = {
        TestsBeside.ADVISED: (),
        TestsBeside.AFTER: (Moment.AFTER,),
        TestsBeside.BOTH: (Moment.BEFORE, Moment.AFTER),
    }[tests_beside]
    settled = [each for each in cleanings if each.fixed is not None] or cleanings
    surface = cleanings[0].surface
    for moment in wanted:
        if (surface.pk, moment.value) in has:
            continue
        cleaning = settled[0] if moment is Moment.BEFORE else settled[-1]
        title = f"{Action.TEST.label} {moment.label}"
        yield Ask(
            f"{moment} {_name_of(cleaning, tasks)}",
            title,
            surface,
            Action.TEST,
            "",
            PLAIN_WORTH,
            cleaning.earliest,
            tie=Tie(cleaning.key, Side(moment.value)),
            moment=moment.value,
        )


def _name_of(cleaning: Ask, tasks: Iterable[VisitTask]) -> str:
    """The row a cleaning comes from: its advice, where it is on a visit for that, so that the name stays the same."""
    kind, _, pk = cleaning.key.partition(" ")
    if kind != "task":
        return pk
    return next(str(task.recommendation_id or task.pk) for task in tasks if str(task.pk) == pk)
