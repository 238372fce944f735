"""What a yearly sum buys over the surfaces of a firm or of one owner: rows gathered, choices made."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Q, Sum
from django.db.models.fields.json import KT

from accounts.calc.roles import Role
from accounts.models import Organisation, Owner, User
from core.calc.payload import from_text
from core.errors import UnreadablePayloadError
from maintenance.calc.costs import cleaning_cost, round_cost
from maintenance.calc.deciding.budget import Care, Chosen, Work, choose_care, choose_work, frontier
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.vocabulary import RecommendationStatus
from maintenance.models import Forecast, MethodTerms, Recommendation
from maintenance.selectors.care import offered_terms
from planning.calc.budget import Compared, Comparison, PlanYear, offers_of, plan_years
from planning.selectors.work import advised, joined


@dataclass(frozen=True, slots=True)
class YearsWork:
    """This year: what is decided already, what is done of the rest, and what falls off.

    committed: planned or agreed, at its price; done, left: rows with what their waiting costs a quarter
    """

    committed: Decimal
    done: Sequence[Recommendation]
    left: Sequence[Recommendation]
    chosen: Chosen


@dataclass(frozen=True, slots=True)
class Budget:
    """Everything the page says.

    care: None where even the least care costs more than the sum; free: without a sum; shown: what the ten years are of;
    below: its share of area and time below the limit; line: care and that share, the least money first
    unknown: surfaces in service without a comparison yet, which are not in it
    """

    amount: float | None
    surfaces: Sequence[Compared]
    unknown: int
    free: Care
    care: Care | None
    shown: Care
    below: float
    years: Sequence[PlanYear]
    line: Sequence[tuple[Care, float]]
    work: YearsWork | None


def budget_of(
    user: User, organisation: Organisation, owner: Owner | None, amount: Decimal | None
) -> Budget | None:
    """None where nothing was compared yet."""
    surfaces, unknown = compared_surfaces(user, organisation, owner)
    if not surfaces:
        return None
    offers = offers_of(surfaces)
    money = None if amount is None else float(amount)
    line = frontier(offers.known)
    care = choose_care(offers.known, money) if money is not None else line[-1]
    shown = care or line[0]
    return Budget(
        amount=money,
        surfaces=surfaces,
        unknown=unknown,
        free=line[-1],
        care=care,
        shown=shown,
        below=offers.below_share(shown),
        years=plan_years(surfaces, shown),
        line=[(each, offers.below_share(each)) for each in line],
        work=years_work(user, organisation, owner, amount) if amount is not None else None,
    )


def compared_surfaces(
    user: User, organisation: Organisation, owner: Owner | None
) -> tuple[list[Compared], int]:
    """What the newest forecasts hold of care, without their curves; and how many hold nothing of it."""
    rows = Forecast.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    rows = rows.filter(surface__removed_on=None, outlook_schema=ForecastOutlook.SCHEMA)
    rows = rows.filter(surface__site__owner=owner) if owner else rows
    stored = rows.order_by("surface__site__name", "surface__name").values_list(
        "surface__name",
        "surface__site__name",
        "surface__site__owner__name",
        "surface__area_m2",
        KT("outlook_json__care"),
    )
    every = list(stored)
    found = list(_readable(every, organisation))
    return found, len(every) - len(found)


def _readable(rows: Sequence[Any], organisation: Organisation) -> Iterator[Compared]:
    listed = {row.method: row for row in MethodTerms.objects.of_organisation(organisation)}
    terms = offered_terms(listed)
    for name, site, owner, area, care in rows:
        try:
            comparison = from_text(Comparison, care) if care else None
        except UnreadablePayloadError:
            continue
        if comparison:
            used = {use.method for offer in comparison.outcomes for use in offer.uses} & terms.keys()
            prices = {method: float(cleaning_cost(terms[method], area)) for method in used}
            test = float(round_cost(organisation.test_visit_price, area))
            yield Compared(f"{name}, {site}", owner, area, comparison, prices, test)


def years_work(user: User, organisation: Organisation, owner: Owner | None, amount: Decimal) -> YearsWork:
    """The advised works that are done with what the planned and agreed ones leave of the sum."""
    rows = advised(user, organisation).filter(cost__isnull=False)
    rows = rows.filter(surface__site__owner=owner) if owner else rows
    planned = Q(status=RecommendationStatus.PLANNED)
    opened = Q(status=RecommendationStatus.OPEN)
    agreed = opened & Q(grounds_json__is_agreed=True)
    committed = rows.filter(planned | agreed).aggregate(cost=Sum("cost"))["cost"] or Decimal(0)
    listed = list(joined(rows.filter(opened).exclude(agreed)).filter(waiting_costs__gt=0))
    terms = {row.method: row for row in MethodTerms.objects.of_organisation(organisation)}
    works = [_work(row, terms) for row in listed]
    chosen = choose_work(works, max(0.0, float(amount - committed)))
    taken = set(chosen.works)
    return YearsWork(
        committed=committed,
        done=[row for i, row in enumerate(listed) if i in taken],
        left=[row for i, row in enumerate(listed) if i not in taken],
        chosen=chosen,
    )


def _work(row: Recommendation, terms: Mapping[str, MethodTerms]) -> Work:
    """Cleanings by one method at one site share a minimum charge; a test round has its own price."""
    priced, gain = terms.get(row.method), float(row.waiting_costs)
    if priced is None or row.cost is None:
        return Work(f"{row.pk}", float(row.cost or 0), 0.0, gain)
    by_area = float(priced.cost_per_m2) * row.surface.area_m2
    return Work(f"{row.surface.site_id}:{row.method}", by_area, float(priced.minimum_charge), gain)
