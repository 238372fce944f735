"""Keeps each surface's recommendations in step with its forecast, and what people decide about them."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Exists, QuerySet
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import User
from core.calc.format import day
from core.calc.paving import SourceChange as SourceChangeKind
from core.errors import AlreadyDoneError
from core.services.records import given_reason
from maintenance.calc.actions import Advice
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.costs import round_cost
from maintenance.calc.returning import Basis, why_back
from maintenance.calc.vocabulary import Action, RecommendationStatus
from maintenance.models import AdviceRelease, CleaningEvent, Recommendation
from maintenance.models.recommendations import UNDECIDED
from maintenance.selectors.histories import Entry, entries_of
from maintenance.services import releases
from qa.models import InfiltrationTest, SourceChange, Surface

IN_TIME = timedelta(days=60)  # what is done earlier than this before its day only moves the day
QUIET_AFTER_SEARCH = timedelta(
    days=365
)  # a search that found nothing to stop is not asked for again the same year
LOOK_AHEAD = timedelta(days=365)
SAID = (
    "method",
    "due_on",
    "earliest_on",
    "cost",
    "currency",
    "waiting_costs",
    "crew_hours",
    "share_below",
    "grounds_json",
)
IS_SHOWN = "is_shown"
NOT_AHEAD = gettext_noop(
    "%(day)s cannot be put off to. Give a day after today and up to %(last)s, which is as far as advice looks."
)
ALREADY_DECIDED = gettext_noop("This advice is already %(status)s. Reload the page to see the newest.")


def sync_recommendations(
    *, surface: Surface, advice: Sequence[Advice], entries: Sequence[Entry] | None = None
) -> None:
    """Update, open and overtake advice. What people planned, put off or declined stands until its grounds change.

    To be called in a transaction. entries: the record of the surface, where it was read already.
    """
    wanted = within_reach(surface, advice)
    rows = list(_undecided(surface))
    if rows and entries is None:
        entries = entries_of(surface)
    waiting = [row for row in rows if not _answered(row, surface, entries or ())]
    open_rows = {row.action: row for row in waiting if row.is_open}
    put_off = [row for row in waiting if row.is_put_off]
    for row in [*open_rows.values(), *put_off]:
        if not any(
            rival in wanted for rival in (Action(row.action).rivals if row.is_put_off else (row.action,))
        ):
            _mark(row, RecommendationStatus.OVERTAKEN)
    for action, piece in wanted.items():
        if action in open_rows:
            _write(open_rows[action], surface, piece)
        else:
            _open(surface, piece, [row for row in put_off if row.action in action.rivals])
    if not rows or getattr(rows[0], IS_SHOWN):
        releases.note_changes(surface=surface)


def _undecided(surface: Surface) -> QuerySet[Recommendation]:
    """Advice that nobody has decided about, which knows whether the owner is shown any of the surface."""
    shown = Exists(AdviceRelease.objects.standing().filter(surface=surface))
    rows = surface.recommendations.filter(status__in=UNDECIDED).annotate(**{IS_SHOWN: shown})
    return rows.select_for_update(of=("self",))


def within_reach(surface: Surface, advice: Sequence[Advice]) -> dict[Action, Advice]:
    """What is due as far ahead as advice looks."""
    return {piece.action: piece for piece in advice if piece.window.due <= surface.site.today() + LOOK_AHEAD}


def _open(surface: Surface, piece: Advice, put_off: Sequence[Recommendation]) -> None:
    """Give advice that is not open: for the first time, again, or not yet."""
    if _is_under_way(surface, piece.action):
        return
    fresh = Recommendation(surface=surface, action=piece.action)
    decided = [*put_off, *_last_declined(surface, piece.action)]
    back = [_why_back(row, surface, piece) for row in decided]
    if not all(back):
        return
    for row in put_off:
        if row.action == piece.action:
            row.put_off_until, row.status, fresh = None, RecommendationStatus.OPEN, row
        else:
            _mark(row, RecommendationStatus.OVERTAKEN)
    fresh.returned_because = back[0] if back else ""
    _write(fresh, surface, piece, opened=True)


def _mark(row: Recommendation, status: RecommendationStatus) -> None:
    row.status = status
    row.save(update_fields=["status"])


def _answered(row: Recommendation, surface: Surface, entries: Iterable[Entry]) -> bool:
    """Mark advice done where somebody did it in time without a planned visit, for a day since it was given."""
    day = max(surface.site.today(row.created_at), row.due_on - IN_TIME)
    answers = _answers(Action(row.action))
    done = any(answers(one) and one.entered_at > row.created_at and one.on >= day for one in entries)
    if done:
        row.status = RecommendationStatus.DONE
        row.save(update_fields=["status"])
    return done


def _answers(action: Action) -> Callable[[Entry], bool]:
    """Whether a record is of what an action asks for."""
    if action is Action.SOURCE:
        return lambda entry: entry.of is SourceChange and entry.kind == SourceChangeKind.STOPPED
    asked = InfiltrationTest if action is Action.TEST else CleaningEvent if action.cleans else None
    return lambda entry: entry.of is asked


def _is_under_way(surface: Surface, action: Action) -> bool:
    """Planned already, or searched for in vain not long ago."""
    planned = surface.recommendations.filter(action__in=action.rivals, status=RecommendationStatus.PLANNED)
    return planned.exists() or (action is Action.SOURCE and _searched_lately(surface))


def _last_declined(surface: Surface, action: Action) -> list[Recommendation]:
    """The newest refusal of what answers the same question, unless something was done about it since."""
    same = surface.recommendations.filter(action__in=action.rivals)
    last = same.filter(status=RecommendationStatus.DECLINED).order_by("-decided_at").first()
    if last is None or same.filter(status=RecommendationStatus.DONE, created_at__gt=last.created_at).exists():
        return []
    return [last]


def _why_back(row: Recommendation, surface: Surface, piece: Advice) -> str:
    option = piece.option
    method = option.method if option else ""
    today = surface.site.today()
    now_is = Basis(
        piece.action,
        method,
        piece.chance,
        piece.waiting_costs,
        option.cost if option else _price_without_option(surface, piece.action),
        surface.organisation.currency,
    )
    return why_back(_basis(row), now_is, row.decided_on or today, today, row.put_off_until)


def _basis(row: Recommendation) -> Basis:
    return Basis(
        Action(row.action),
        row.method,
        row.share_below,
        row.waiting_costs,
        row.cost,
        row.currency,
    )


def _searched_lately(surface: Surface) -> bool:
    searched = surface.recommendations.filter(action=Action.SOURCE, status=RecommendationStatus.DONE)
    return searched.filter(decided_at__gt=now() - QUIET_AFTER_SEARCH).exists()


def _write(row: Recommendation, surface: Surface, piece: Advice, *, opened: bool = False) -> None:
    """Store the advice where it was opened just now or says something else."""
    if say(row, surface, piece) or opened:
        row.save()


def say(row: Recommendation, surface: Surface, piece: Advice) -> bool:
    """Have the row say what is advised, unsaved; whether it said something else before."""
    before, option = _said_by(row), piece.option
    row.method = option.method if option else ""
    row.due_on, row.earliest_on = _due(row, surface, piece), piece.window.earliest
    row.cost = option.cost if option else _price_without_option(surface, piece.action)
    row.currency = surface.organisation.currency
    row.waiting_costs, row.crew_hours, row.share_below = piece.waiting_costs, piece.crew_hours, piece.chance
    row.grounds = Grounds(
        surface.record_version, piece.reasons, option, piece.saves, piece.is_agreed, piece.wants_word
    )
    if before == _said_by(row):
        return False
    row.clean_fields(exclude=("surface", "decided_by"))
    return True


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
    """The advice, held until the end of the transaction. Raises AlreadyDoneError where it was planned or declined."""
    row = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    if not row.can_be_decided:
        raise AlreadyDoneError(_(ALREADY_DECIDED) % {"status": row.get_status_display().lower()})
    return row


@transaction.atomic
def decline(*, recommendation: Recommendation, by: User, reason: str) -> Recommendation:
    """Turn advice down, with the reason; an owner who was shown it no longer is."""
    why = given_reason(reason)
    row = _decide(lock_open(recommendation), RecommendationStatus.DECLINED, by, why)
    with override(row.surface.organisation.language):  # the firm alone reads it
        ended = _("Declined: {reason}").format(reason=why)
    releases.end_release(recommendation=row, by=by, reason=ended)
    return row


@transaction.atomic
def decline_all(*, recommendations: Sequence[Recommendation], by: User, reason: str) -> None:
    """Turn down several at once, or none where one was decided meanwhile."""
    for row in recommendations:
        decline(recommendation=row, by=by, reason=reason)


@transaction.atomic
def put_off(*, recommendations: Sequence[Recommendation], by: User, until: date, reason: str = "") -> None:
    """Have advice wait until a day: it returns then, or before that when its grounds change.

    Raises ValidationError for a day that is not ahead, or lies further than advice looks.
    """
    for each in recommendations:
        row = lock_open(each)
        today = row.surface.site.today()
        if not today < until <= today + LOOK_AHEAD:
            params = {"day": day(until), "last": day(today + LOOK_AHEAD)}
            raise ValidationError({"until": ValidationError(_(NOT_AHEAD), params=params)})
        row.put_off_until = until
        _decide(row, RecommendationStatus.PUT_OFF, by, reason)


@transaction.atomic
def return_put_off() -> int:
    """Open what was put off until a day that has come, by the date at its site. Returns how many."""
    rows = Recommendation.objects.select_for_update(of=("self",)).filter(
        status=RecommendationStatus.PUT_OFF, put_off_until__lte=(now() + timedelta(days=1)).date()
    )
    due = [
        row
        for row in rows.select_related("surface__site")
        if row.put_off_until and row.put_off_until <= row.surface.site.today()
    ]
    return sum(_reopened(row) for row in due)


def _until_today(row: Recommendation) -> str:
    today = row.surface.site.today()
    return why_back(_basis(row), _basis(row), row.decided_on or today, today, row.put_off_until)


def _reopened(row: Recommendation) -> bool:
    """Whether it could be opened: where the same is advised anew already, that one stands."""
    same = row.surface.recommendations.filter(action=row.action, status=RecommendationStatus.OPEN)
    taken = same.exists()
    row.status = RecommendationStatus.OVERTAKEN if taken else RecommendationStatus.OPEN
    row.returned_because, row.put_off_until = _until_today(row), None
    row.save(update_fields=["status", "put_off_until", "returned_because"])
    return not taken


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
    if status != RecommendationStatus.PUT_OFF:
        row.put_off_until = None
    row.save(
        update_fields=[
            "status",
            "decided_by",
            "decided_at",
            "decision_reason",
            "planned_method",
            "put_off_until",
        ]
    )
    return row
