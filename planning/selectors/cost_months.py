"""What work and agreements cost and bring by month, gathered in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from accounts.calc.roles import Role
from accounts.models import Organisation, Owner, User
from core.calc.audit import AuditState
from core.calc.months import months_after
from maintenance.models import CleaningEvent, MethodTerms
from maintenance.selectors.care import offered_terms
from planning.calc.cost_months import (
    CostMonths,
    Entry,
    Part,
    agreed_in,
    cost_months,
    crew_cost,
    even_shares,
    month_of,
    months_of_term,
    shares_of,
)
from planning.calc.vocabulary import DROPPED, QuoteState, TaskOutcome, VisitStatus
from planning.models import Agreement, CrewMethod, QuoteLine, VisitTask
from planning.models.visits import PROOFS
from planning.selectors.outputs import Outputs, outputs_of, planned_min


@dataclass(frozen=True, slots=True)
class _Asked:
    """Whose rows of which period."""

    user: User
    organisation: Organisation
    owner: Owner | None
    first: date
    last: date

    @property
    def days(self) -> tuple[date, date]:
        """The whole months."""
        return month_of(self.first), months_after(month_of(self.last), 1) - timedelta(days=1)

    def rows(self, model: Any, owner_path: str) -> Any:
        """Rows of one kind that the person may read, of one owner where one is asked for."""
        rows = model.objects.for_user(self.user, Role.VIEWER).of_organisation(self.organisation)
        return rows.filter(**{owner_path: self.owner}) if self.owner else rows


def costs_of(
    user: User, organisation: Organisation, owner: Owner | None, first: date, last: date
) -> CostMonths:
    """All months from that of `first` to that of `last`, in the firm's currency."""
    asked = _Asked(user, organisation, owner, first, last)
    heirs = _heirs(organisation)
    found = [*_of_tasks(asked, heirs), *_of_cleanings(asked, heirs), *_of_agreements(asked)]
    return cost_months(found, first, last)


@dataclass(frozen=True, slots=True)
class _Terms:
    """How a task is reckoned. share: of its surface, None where nobody knows; of, number: which of how many parts."""

    cleaning: CleaningEvent | None
    share: float | None
    of: int = 0
    number: int = 1


@dataclass(frozen=True, slots=True)
class _Rates:
    """What hours and square metres of a firm come to."""

    currency: str
    outputs: Outputs
    charged: Mapping[tuple[Any, str], Any]
    quoted: Mapping[UUID, Decimal]


def _of_tasks(asked: _Asked, heirs: Mapping[UUID, UUID]) -> Iterator[Entry]:
    """What stands on visits: done, or still to come."""
    rows = _counting(asked.rows(VisitTask, "surface__site__owner").filter(visit__visit_on__range=asked.days))
    tasks = list(rows.select_related("visit__crew", "surface__site__owner", "recommendation", "cleaning"))
    terms, rates = _terms_of(tasks, heirs), _rates(asked.organisation, tasks)
    for task in tasks:
        of_task = terms[task.pk]
        if of_task.cleaning is not None and of_task.cleaning.state != AuditState.ACTIVE:
            continue
        part = Part.DONE if task.is_done else Part.AHEAD
        price, cost = _price(task, of_task, rates), _cost(task, of_task, rates)
        yield Entry(month_of(task.visit.visit_on), task.surface.site.owner.name, part, price, cost)


def _counting(rows: Any) -> Any:
    """Tasks that are done or still to do, but none whose record was set aside."""
    rows = rows.exclude(visit__status=VisitStatus.CANCELLED, ended_at=None).exclude(outcome__in=DROPPED)
    for record in PROOFS:
        rows = rows.exclude(**{f"{record}__state": AuditState.VOID})
    return rows


def _rates(firm: Organisation, tasks: Sequence[VisitTask]) -> _Rates:
    offered = offered_terms({row.method: row for row in MethodTerms.objects.of_organisation(firm)})
    outputs = outputs_of(firm, offered)
    crews = CrewMethod.objects.of_organisation(firm).filter(crew__is_subcontracted=True)
    charged = {(row.crew_id, row.method): row.cost_per_m2 for row in crews}
    return _Rates(firm.currency, outputs, charged, approved_prices(firm, tasks))


def _terms_of(tasks: Sequence[VisitTask], heirs: Mapping[UUID, UUID]) -> dict[UUID, _Terms]:
    """Work of several days is divided among its tasks, after what was done of it in part."""
    heir_of = {task.cleaning_id: _heir(task.cleaning_id, heirs) for task in tasks if task.cleaning_id}
    written_anew = CleaningEvent.objects.in_bulk([new for old, new in heir_of.items() if old != new])
    advice = {task.recommendation_id for task in tasks if task.recommendation_id}
    same: dict[UUID | None, list[UUID]] = defaultdict(list)
    left: dict[UUID | None, float] = defaultdict(lambda: 1.0)
    rows = _counting(VisitTask.objects.filter(recommendation__in=advice)).order_by("visit__visit_on", "pk")
    for pk, of, outcome, share in rows.values_list(
        "pk", "recommendation", "outcome", "cleaning__share_of_area"
    ):
        if outcome == TaskOutcome.PART:
            left[of] = max(left[of] - (share or 0.0), 0.0)
        else:
            same[of].append(pk)
    found = {}
    for task in tasks:
        cleaning = written_anew.get(heir_of.get(task.cleaning_id), task.cleaning)  # type: ignore[arg-type]
        among = same.get(task.recommendation_id, [task.pk])
        share = _share(task, cleaning, left[task.recommendation_id] / max(len(among), 1))
        of = among.index(task.pk) if task.pk in among else 0
        found[task.pk] = _Terms(cleaning, share, of, max(len(among), 1))
    return found


def _share(task: VisitTask, cleaning: CleaningEvent | None, planned: float) -> float | None:
    """As recorded, where that is a part; else as planned, which of a part that was done tells nothing."""
    if cleaning is not None and (cleaning.share_of_area < 1.0 or task.outcome == TaskOutcome.PART):
        return cleaning.share_of_area
    return None if task.outcome == TaskOutcome.PART else planned


def _heir(record: UUID | None, heirs: Mapping[UUID, UUID]) -> UUID | None:
    """The correction that stands in its place now, else the record itself."""
    while record is not None and record in heirs:
        record = heirs[record]
    return record


def _cost(task: VisitTask, terms: _Terms, rates: _Rates) -> Decimal | None:
    crew, charged = task.visit.crew, rates.charged.get((task.visit.crew_id, task.method))
    area = None if terms.share is None else task.surface.area_m2 * terms.share
    return crew_cost(_hours(task, terms, rates.outputs), crew.hour_cost, charged, area, rates.currency)


def _hours(task: VisitTask, terms: _Terms, outputs: Outputs) -> float | None:
    """As the crew told them, else as plans count them for its share, else as advised; of an unknown share nobody knows
    them.
    """
    if task.taken_min is not None:
        return task.taken_min / 60.0
    if terms.share is None:
        return None
    minutes = planned_min(task, outputs, terms.share)
    if minutes is not None:
        return minutes / 60.0
    advised = task.recommendation.crew_hours if task.recommendation else None
    return advised * terms.share if advised else None


def _price(task: VisitTask, terms: _Terms, rates: _Rates) -> Decimal | None:
    """As charged, else as approved, else as advised, in equal parts where the work takes several days.

    What an agreement alone asks for is paid with it, and a part of what was advised with the rest, which follows.
    """
    done, advice = terms.cleaning, task.recommendation
    if done is not None and done.cost is not None and done.currency == rates.currency:
        return done.cost
    if task.outcome == TaskOutcome.PART:
        return Decimal(0)
    if advice is None:
        return None
    whole = rates.quoted.get(advice.pk, Decimal(0) if advice.is_agreed_only else advice.cost)
    return None if whole is None else even_shares(whole, terms.number, rates.currency)[terms.of]


def approved_prices(organisation: Organisation, tasks: Sequence[VisitTask]) -> dict[UUID, Decimal]:
    """The net price of each piece of advice by its approved quote, with its share of minimum, material and call-out."""
    advice = [task.recommendation_id for task in tasks if task.recommendation_id]
    approved = QuoteLine.objects.filter(
        recommendation__in=advice,
        version__state=QuoteState.APPROVED,
        version__currency=organisation.currency,
    ).covering()
    covered = dict(approved.values_list("recommendation", "version"))
    lines = QuoteLine.objects.filter(version__in=covered.values()).select_related("version")
    amounts: dict[Any, dict[UUID, Decimal]] = defaultdict(dict)
    for line in lines.order_by("version__decided_at", "version", "position"):
        if line.recommendation_id:
            amounts[line.version][line.recommendation_id] = line.amount_in(line.version.currency)
    found: dict[UUID, Decimal] = {}
    for version, works in amounts.items():
        found |= shares_of(version.net, works, version.currency)
    return {pk: price for pk, price in found.items() if pk in covered}


def _heirs(firm: Organisation) -> dict[UUID, UUID]:
    """Of each cleaning that was written anew the correction."""
    rows = CleaningEvent.objects.of_organisation(firm).exclude(replaces=None)
    return {old: new for old, new in rows.values_list("replaces", "pk") if old}


def _of_cleanings(asked: _Asked, heirs: Mapping[UUID, UUID]) -> Iterator[Entry]:
    """What was cleaned without a visit: what it cost the firm nobody knows."""
    rows: QuerySet[CleaningEvent] = asked.rows(CleaningEvent, "surface__site__owner").active()
    of_tasks = VisitTask.objects.filter(cleaning__in=heirs).values_list("cleaning", flat=True)
    rows = rows.exclude(pk__in=[_heir(record, heirs) for record in of_tasks])
    rows = rows.filter(cleaned_on__range=asked.days, visit_task=None, currency=asked.organisation.currency)
    for event in rows.select_related("surface__site__owner"):
        yield Entry(month_of(event.cleaned_on), event.surface.site.owner.name, Part.DONE, event.cost, None)


def _of_agreements(asked: _Asked) -> Iterable[Entry]:
    """A twelfth of the yearly price in each month of the term."""
    rows = asked.rows(Agreement, "site__owner").filter(price_per_year__gt=0)
    for row in rows.filter(currency__in=("", asked.organisation.currency)).select_related("site__owner"):
        until = None if row.renews else row.until
        for month in months_of_term(asked.first, asked.last, row.since, until):
            price = agreed_in(month, row.price_per_year or Decimal(0), asked.organisation.currency)
            yield Entry(month, row.site.owner.name, Part.AGREEMENT, price, None)
