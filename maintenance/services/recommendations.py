"""Keeps each surface's recommendations in step with its forecast, and what people decide about them."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.utils.timezone import now

from accounts.models import User
from core.calc.paving import SourceChange as SourceChangeKind
from core.errors import AlreadyDoneError
from core.services.records import given_reason
from maintenance.calc.actions import Advice
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.costs import round_cost
from maintenance.calc.vocabulary import Action, RecommendationStatus
from maintenance.models import CleaningEvent, Recommendation
from qa.models import InfiltrationTest, SourceChange, Surface

QUIET_AFTER_DECLINE = timedelta(days=90)
IN_TIME = timedelta(days=60)  # what is done earlier than this before its day only moves the day
QUIET_AFTER_SEARCH = timedelta(
    days=365
)  # a search that found nothing to stop is not asked for again the same year
LOOK_AHEAD = timedelta(days=365)
SAID = ("method", "due_on", "earliest_on", "cost", "currency", "grounds_json")
ALREADY_DECIDED = "This advice is already %(status)s. Reload the page to see the newest."


@transaction.atomic
def sync_recommendations(*, surface: Surface, advice: Sequence[Advice]) -> None:
    """Update, open and overtake advice. What people planned or declined stands."""
    wanted = {a.action: a for a in advice if a.window.due <= surface.site.today() + LOOK_AHEAD}
    rows = list(surface.recommendations.select_for_update(of=("self",)).filter(_of_weight()))
    open_rows = {
        row.action: row
        for row in rows
        if row.status == RecommendationStatus.OPEN and not _answered(row, surface)
    }
    for action, row in open_rows.items():
        if action not in wanted:
            row.status = RecommendationStatus.OVERTAKEN
            row.save(update_fields=["status"])
    for action, piece in wanted.items():
        if action in open_rows:
            _write(open_rows[action], surface, piece)
        elif not _is_planned_or_declined(rows, surface, piece.action):
            _write(Recommendation(surface=surface, action=action), surface, piece)


def _of_weight() -> Q:
    """Advice that is open, or that says what is not to be advised again."""
    quiet = {"status": RecommendationStatus.DECLINED, "decided_at__gt": now() - QUIET_AFTER_DECLINE}
    searched = {"status": RecommendationStatus.DONE, "decided_at__gt": now() - QUIET_AFTER_SEARCH}
    ahead = (RecommendationStatus.OPEN, RecommendationStatus.PLANNED)
    return Q(status__in=ahead) | Q(**quiet) | Q(**searched, action=Action.SOURCE)


def _answered(row: Recommendation, surface: Surface) -> bool:
    """Mark advice done where somebody did it in time without a planned visit, for a day since it was given."""
    day = max(surface.site.today(row.created_at), row.due_on - IN_TIME)
    if row.action == Action.TEST:
        tests = InfiltrationTest.objects.in_active_rounds().valid().with_rate().filter(round__surface=surface)
        done = tests.filter(created_at__gt=row.created_at, round__tested_on__gte=day).exists()
    elif Action(row.action).cleans:
        events = CleaningEvent.objects.active().filter(surface=surface, created_at__gt=row.created_at)
        done = events.filter(cleaned_on__gte=day).exists()
    elif row.action == Action.SOURCE:
        changes = SourceChange.objects.active().filter(surface=surface, kind=SourceChangeKind.STOPPED)
        done = changes.filter(created_at__gt=row.created_at, changed_on__gte=day).exists()
    else:
        done = False
    if done:
        row.status = RecommendationStatus.DONE
        row.save(update_fields=["status"])
    return done


def _is_planned_or_declined(rows: Sequence[Recommendation], surface: Surface, action: Action) -> bool:
    """Planned already, or declined on this very record not long ago; a search that found nothing is not repeated."""
    same = [row for row in rows if row.action in _rivals(action)]
    if any(row.status == RecommendationStatus.PLANNED for row in same):
        return True
    if any(row.status == RecommendationStatus.DONE and row.decided_at for row in same):
        return True
    declined = [row for row in same if row.status == RecommendationStatus.DECLINED]
    return any(row.rests_on(surface.record_version) for row in declined)


def _rivals(action: Action) -> tuple[Action, ...]:
    """Cleaning, re-jointing and looking at it answer the same question."""
    if action in (Action.TEST, Action.SOURCE):
        return (action,)
    return (Action.CLEAN, Action.REJOINT, Action.LOOK)


def _write(row: Recommendation, surface: Surface, piece: Advice) -> None:
    """Store the advice where it is new or says something else; what it must be like, constraints hold as well."""
    before, option = _said_by(row), piece.option
    row.method = option.method if option else ""
    row.due_on, row.earliest_on = _due(row, surface, piece), piece.window.earliest
    row.cost = option.cost if option else _price_without_option(surface, piece.action)
    row.currency = surface.organisation.currency
    row.grounds = Grounds(
        surface.record_version, piece.reasons, option, piece.saves, piece.is_agreed, piece.wants_word
    )
    if row._state.adding or before != _said_by(row):
        row.clean_fields(exclude=("surface", "decided_by"))
        row.save()


def _said_by(row: Recommendation) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in SAID)


def _price_without_option(surface: Surface, action: Action) -> Decimal | None:
    price = surface.organisation.test_visit_price
    return round_cost(price, surface.area_m2) if action is Action.TEST else None


def _due(row: Recommendation, surface: Surface, piece: Advice) -> date:
    """What fell due earlier and is still open stays due since then, unless newer facts moved it on."""
    today = surface.site.today()
    overdue = not row._state.adding and row.due_on < today
    same_facts = row.rests_on(surface.record_version)
    if overdue and (same_facts or piece.window.due <= today):
        return min(row.due_on, piece.window.due)
    return piece.window.due


def lock_open(recommendation: Recommendation) -> Recommendation:
    """The advice, held until the end of the transaction. Raises AlreadyDoneError where it was decided."""
    row = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    if row.status != RecommendationStatus.OPEN:
        raise AlreadyDoneError(ALREADY_DECIDED % {"status": row.get_status_display().lower()})
    return row


@transaction.atomic
def decline(*, recommendation: Recommendation, by: User, reason: str) -> Recommendation:
    """Turn advice down, with the reason."""
    return _decide(lock_open(recommendation), RecommendationStatus.DECLINED, by, given_reason(reason))


@transaction.atomic
def mark_planned(
    *, recommendation: Recommendation, by: User, reason: str, planned_method: str = ""
) -> Recommendation:
    """Note that advice was taken on. planned_method: where it is not the one advised."""
    recommendation.planned_method = planned_method
    return _decide(recommendation, RecommendationStatus.PLANNED, by, reason)


@transaction.atomic
def mark_done(*, recommendation_id: UUID) -> None:
    """Note that what was advised is done."""
    Recommendation.objects.filter(pk=recommendation_id).update(status=RecommendationStatus.DONE)


@transaction.atomic
def drop_planned(*, recommendation_ids: Iterable[UUID | None]) -> None:
    """End planned advice whose work was cancelled: it may be outdated, and is made afresh if it is not."""
    planned = Recommendation.objects.filter(
        pk__in=list(recommendation_ids), status=RecommendationStatus.PLANNED
    )
    planned.update(status=RecommendationStatus.OVERTAKEN)


def _decide(row: Recommendation, status: str, by: User, reason: str) -> Recommendation:
    row.status, row.decided_by, row.decided_at, row.decision_reason = status, by, now(), reason.strip()
    row.save(update_fields=["status", "decided_by", "decided_at", "decision_reason", "planned_method"])
    return row
