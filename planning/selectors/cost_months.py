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
from core.calc.months import months_after
from maintenance.models import CleaningEvent, MethodTerms
from planning.calc.cost_months import (
    CostMonths,
    Entry,
    Part,
    agreed_in,
    cost_months,
    crew_cost,
    month_of,
    months_between,
    shares_of,
)
from planning.calc.vocabulary import QuoteState, TaskOutcome, VisitStatus
from planning.models import Agreement, CrewMethod, QuoteLine, VisitTask

NOT_DONE = (TaskOutcome.NOT_DONE.value, TaskOutcome.GIVEN_UP.value)


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
    found = [*_of_tasks(asked), *_of_cleanings(asked), *_of_agreements(asked)]
    return cost_months(found, first, last)


def _of_tasks(asked: _Asked) -> Iterator[Entry]:
    """What stands on visits: done, or still to come."""
    rows = asked.rows(VisitTask, "surface__site__owner").filter(visit__visit_on__range=asked.days)
    rows = rows.exclude(visit__status=VisitStatus.CANCELLED, ended_at=None).exclude(outcome__in=NOT_DONE)
    tasks = list(rows.select_related("visit__crew", "surface__site__owner", "recommendation", "cleaning"))
    quoted, firm = approved_prices(asked.organisation, tasks), asked.organisation
    outputs = dict(MethodTerms.objects.of_organisation(firm).values_list("method", "output_m2_h"))
    crews = CrewMethod.objects.of_organisation(firm).filter(crew__is_subcontracted=True)
    charged = {(row.crew_id, row.method): row.cost_per_m2 for row in crews}
    for task in tasks:
        part = Part.DONE if task.is_done else Part.AHEAD
        cost = _cost(task, outputs, charged, firm.currency)
        price = _price(task, quoted, firm.currency)
        yield Entry(month_of(task.visit.visit_on), task.surface.site.owner.name, part, price, cost)


def _cost(
    task: VisitTask, outputs: Mapping[str, float], charged: Mapping[tuple[Any, str], Any], currency: str
) -> Decimal | None:
    crew, area = task.visit.crew, task.surface.area_m2
    return crew_cost(
        _hours(task, outputs), crew.hour_cost, charged.get((crew.pk, task.method)), area, currency
    )


def _hours(task: VisitTask, outputs: Mapping[str, float]) -> float | None:
    """As the crew told them, else as worked out; of a part nobody knows them unless they were told."""
    if task.taken_min is not None:
        return task.taken_min / 60.0
    if task.outcome == TaskOutcome.PART:
        return None
    advice = task.recommendation
    if advice and advice.crew_hours:
        return advice.crew_hours
    return task.surface.area_m2 / outputs[task.method] if task.method in outputs else None


def _price(task: VisitTask, quoted: Mapping[UUID, Decimal], currency: str) -> Decimal | None:
    """As charged, else as approved, else as advised.

    What an agreement alone asks for is paid with it, and a part of what was advised with the rest, which follows.
    """
    done, advice = task.cleaning, task.recommendation
    if done is not None and done.cost is not None and done.currency == currency:
        return done.cost
    if task.outcome == TaskOutcome.PART:
        return Decimal(0)
    if advice is None:
        return None
    if advice.pk in quoted:
        return quoted[advice.pk]
    return Decimal(0) if advice.is_agreed_only else advice.cost


def approved_prices(organisation: Organisation, tasks: Sequence[VisitTask]) -> dict[UUID, Decimal]:
    """The net price of each piece of advice by its approved quote, with its share of minimum, material and call-out."""
    advice = [task.recommendation_id for task in tasks if task.recommendation_id]
    versions = QuoteLine.objects.filter(
        recommendation__in=advice,
        version__state=QuoteState.APPROVED,
        version__currency=organisation.currency,
    ).values("version")
    lines = QuoteLine.objects.filter(version__in=versions).select_related("version")
    amounts: dict[Any, dict[UUID, Decimal]] = defaultdict(dict)
    for line in lines.order_by("version__decided_at", "version", "position"):
        if line.recommendation_id:
            amounts[line.version][line.recommendation_id] = line.amount_in(line.version.currency)
    found: dict[UUID, Decimal] = {}
    for version, works in amounts.items():
        found |= shares_of(version.net, works, version.currency)
    return found


def _of_cleanings(asked: _Asked) -> Iterator[Entry]:
    """What was cleaned without a visit: what it cost the firm nobody knows."""
    rows: QuerySet[CleaningEvent] = asked.rows(CleaningEvent, "surface__site__owner").active()
    rows = rows.filter(cleaned_on__range=asked.days, visit_task=None, currency=asked.organisation.currency)
    for event in rows.select_related("surface__site__owner"):
        yield Entry(month_of(event.cleaned_on), event.surface.site.owner.name, Part.DONE, event.cost, None)


def _of_agreements(asked: _Asked) -> Iterable[Entry]:
    """A twelfth of the yearly price in each month of the term."""
    rows = asked.rows(Agreement, "site__owner").filter(price_per_year__gt=0)
    for row in rows.filter(currency__in=("", asked.organisation.currency)).select_related("site__owner"):
        yield from _of_agreement(row, asked)


def _of_agreement(row: Agreement, asked: _Asked) -> Iterator[Entry]:
    ends = None if row.renews else row.until
    for month in months_between(asked.first, asked.last):
        begun = row.since is None or month_of(row.since) <= month
        if begun and (ends is None or month <= ends) and row.price_per_year:
            price = agreed_in(month, row.price_per_year, asked.organisation.currency)
            yield Entry(month, row.site.owner.name, Part.AGREEMENT, price, None)
