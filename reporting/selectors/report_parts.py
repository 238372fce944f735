"""What only a site's report holds: rounds against the limit, what was agreed, what is asked, and visits to come."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django.db.models import Count, Q

from accounts.calc.audience import Audience, Matter
from core.calc.bounds import Bound
from core.calc.format import labelled
from core.calc.paving import TestMethod
from maintenance.calc.vocabulary import RecordKind
from maintenance.selectors.records import RecordItem
from planning.calc.vocabulary import QuoteState
from planning.models import Agreement, QuoteVersion, VisitTask
from qa.calc.citing import VerifiedSources
from qa.calc.rounds import Purpose, Rate, below_limit, below_limit_in_ranges, geometric_mean
from qa.models import InfiltrationTest, Site, Surface, TestRound
from qa.presentation.readings_table import converted_ranges
from qa.selectors.days import firm_today
from qa.selectors.rounds import result_of
from reporting.calc.agreed import DoneAt, Term, agreed_count
from reporting.calc.certificate import MethodLine
from reporting.calc.report_parts import (
    AgainstLimit,
    AgreedPart,
    ReportedRound,
    ReportedTest,
    VisitToCome,
    WaitingQuote,
)
from reporting.calc.values import Money
from reporting.selectors.certificates import method_lines, result_part
from reporting.selectors.coming import by_visit
from reporting.selectors.handover_tests import bounded, test_line

Records = Sequence[tuple[Surface, Sequence[RecordItem]]]


def reported_rounds(
    surface: Surface, items: Iterable[RecordItem], since: date, audience: Audience
) -> tuple[ReportedRound, ...]:
    """The rounds of a period that count, newest first, from records that were read already."""
    rounds: list[Any] = [item.row for item in items if _counts(item, since) and item.kind is RecordKind.ROUND]
    return tuple(_round(row, surface, audience) for row in rounds if row.active_tests)


def _counts(item: RecordItem, since: date) -> bool:
    return bool(item.row.is_active) and item.on >= since


def _round(round_: TestRound, surface: Surface, audience: Audience) -> ReportedRound:
    round_.surface = surface
    tests: list[InfiltrationTest] = round_.active_tests  # type: ignore[attr-defined]  # as fetched with the records
    result = result_of(round_, tests, "si")
    leading = result.leading
    return ReportedRound(
        key=round_.pk,
        on=round_.tested_on,
        purpose=Purpose(round_.purpose).label,
        by=audience.shown(Matter.PEOPLE, str(round_.recorded_by or ""), ""),
        mean=bounded(geometric_mean([spot.rate for spot in leading.spots])) if leading else None,
        by_method="" if leading is None or leading.is_ring else leading.method.in_sentence,
        result=result_part(round_, result, audience),
        departures=tuple(f"{found.message} {found.effect.label}." for found in result.deviations),
        tests=tuple(_test(test, surface.limit_mm_h) for test in result.standing),
    )


def _test(test: InfiltrationTest, limit_mm_h: float) -> ReportedTest:
    line = test_line(test)
    return ReportedTest(line.spot, line.rate, line.text, _against(test, limit_mm_h), line.departures)


def _against(test: InfiltrationTest, limit_mm_h: float) -> AgainstLimit:
    if not test.is_valid:
        return AgainstLimit.LEFT_OUT
    if test.rate_mm_h is None or not test.gives_rate:
        return AgainstLimit.NO_RATE
    ranges = [(found.low_mm_h, found.high_mm_h) for found in converted_ranges(test)[:1]]
    found = (
        below_limit_in_ranges(ranges, limit_mm_h)
        if ranges
        else below_limit([Rate(test.rate_mm_h, Bound(test.bound))], limit_mm_h)
    )
    if found.below:
        return AgainstLimit.BELOW
    return AgainstLimit.CANNOT_TELL if found.undecided else AgainstLimit.REACHES


def used_methods(records: Records, since: date, verified: VerifiedSources) -> tuple[MethodLine, ...]:
    """The methods of the period's tests, each once, by the standard for the kind of surface it was used on."""
    found: dict[MethodLine, None] = {}
    for surface, items in records:
        rounds: list[Any] = [
            item.row for item in items if _counts(item, since) and item.kind is RecordKind.ROUND
        ]
        tests = [test for row in rounds for test in row.active_tests]
        found |= dict.fromkeys(method_lines(tests, surface.surface_type, verified))
    order = [method.label for method in TestMethod]
    return tuple(sorted(found, key=lambda line: order.index(line.name)))


def agreed_in_period(site: Site, records: Records, since: date, audience: Audience) -> AgreedPart | None:
    """What the agreement asked for in the period, and what was done; None without one, or for whom it is not."""
    agreement: Agreement | None = getattr(site, "agreement", None)
    if agreement is None or not agreement.promises_something or not audience.sees(Matter.AGREEMENT):
        return None
    today = site.today()

    def counted(kind: RecordKind, per_year: float) -> Any:
        done = [_done_at(surface, items, kind, per_year, agreement) for surface, items in records]
        return agreed_count(done, since, today)

    return AgreedPart(
        tests=counted(RecordKind.ROUND, agreement.tests_per_year),
        cleanings=counted(RecordKind.CLEANING, agreement.cleanings_per_year),
    )


def _done_at(
    surface: Surface,
    items: Iterable[RecordItem],
    kind: RecordKind,
    per_year: float,
    agreement: Agreement,
) -> DoneAt:
    begins = max(surface.opened_on, agreement.since or surface.opened_on)
    days = [item.on for item in items if item.kind is kind and item.row.is_active and _tells(item)]
    return DoneAt(surface.name, Term(per_year, begins, agreement.term_end(surface.site.today())), days)


def _tells(item: RecordItem) -> bool:
    """A round counts once a test in it does."""
    return item.kind is not RecordKind.ROUND or bool(item.spots or item.others)


def waiting_quotes(site: Site, audience: Audience) -> tuple[WaitingQuote, ...]:
    """Quotes with work at the site that its owner can still answer, the one that runs out first leading."""
    if not audience.sees(Matter.QUOTES):
        return ()
    here = Count("lines", filter=Q(lines__site=site))
    rows = QuoteVersion.objects.filter(
        quote__owner=site.owner_id, state=QuoteState.SENT, valid_until__gte=firm_today(site.organisation)
    )
    counted: Any = rows.annotate(here=here).filter(here__gt=0).select_related("quote")
    return tuple(
        WaitingQuote(row.pk, str(row.quote), Money(row.total, row.currency), row.valid_until, row.here)
        for row in counted.order_by("valid_until", "pk")
    )


def visits_to_come(site: Site, audience: Audience) -> tuple[VisitToCome, ...]:
    """Days on which something is to be done at the site, the next one first."""
    if not audience.sees(Matter.VISITS):
        return ()
    rows = VisitTask.objects.filter(surface__site=site, visit__visit_on__gte=site.today())
    found = (
        VisitToCome(
            tasks[0].visit.visit_on,
            tuple(labelled(task.title, task.surface.name) for task in tasks),
            audience.shown(Matter.CREWS, str(tasks[0].visit.crew), ""),
            tuple(task.surface_id for task in tasks),
        )
        for tasks in by_visit(rows)
    )
    return tuple(sorted(found, key=lambda visit: (visit.on, visit.work)))
