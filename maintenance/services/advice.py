"""Keeps each surface's recommendations in step with its forecast."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction
from django.utils.timezone import now

from maintenance.calc.actions import Advice, Levels
from maintenance.models import Recommendation
from qa.models import Surface

QUIET_AFTER_DECLINE = timedelta(days=90)
LOOK_AHEAD = timedelta(days=365)
Status = Recommendation.Status


def levels_of(surface: Surface) -> Levels:
    """The firm's choices."""
    firm = surface.organisation
    return Levels(firm.alert_share, firm.action_share, firm.wished_months, firm.wished_share)


@transaction.atomic
def keep_in_step(*, surface: Surface, advice: Sequence[Advice]) -> None:
    """Update, open and overtake advice. What people planned or declined stands."""
    wanted = {a.action: a for a in advice if a.window.due <= surface.site.today() + LOOK_AHEAD}
    rows = surface.recommendations.select_for_update()
    open_rows = {row.action: row for row in rows.filter(status=Status.OPEN)}
    for action, row in open_rows.items():
        if action not in wanted:
            row.status = Status.OVERTAKEN
            row.save(update_fields=["status"])
    for action, piece in wanted.items():
        if action in open_rows:
            _write(open_rows[action], surface, piece)
        elif not _spoken_for(surface, piece.action):
            _write(Recommendation(surface=surface, action=action), surface, piece)


def _spoken_for(surface: Surface, action: str) -> bool:
    """Planned already, or declined on this very record not long ago."""
    same = surface.recommendations.filter(action__in=_rivals(action))
    if same.filter(status=Status.PLANNED).exists():
        return True
    declined = same.filter(status=Status.DECLINED, decided_at__gt=now() - QUIET_AFTER_DECLINE)
    return any(row.figures.get("record_version") == surface.record_version for row in declined)


def _rivals(action: str) -> tuple[str, ...]:
    """Cleaning, re-jointing and looking at it answer the same question."""
    return ("test",) if action == "test" else ("clean", "rejoint", "look")


def _write(row: Recommendation, surface: Surface, piece: Advice) -> None:
    option = piece.option
    row.method = option.method if option else ""
    row.due_on, row.earliest_on = _due(row, surface, piece), piece.window.earliest
    row.cost = option.cost if option else None
    row.currency = surface.organisation.currency
    row.reasons = list(piece.reasons)
    row.figures = _figures(surface, piece)
    row.full_clean()
    row.save()


def _due(row: Recommendation, surface: Surface, piece: Advice) -> date:
    """What fell due earlier and is still open stays due since then."""
    overdue = not row._state.adding and row.due_on < surface.site.today()
    return min(row.due_on, piece.window.due) if overdue else piece.window.due


def _figures(surface: Surface, piece: Advice) -> dict[str, object]:
    figures: dict[str, object] = {"record_version": surface.record_version}
    if piece.option:
        o = piece.option
        figures |= {
            "rate_after_mm_h": o.rate_after_mm_h,
            "years_until_limit": o.years_until_limit,
            "share_staying_above": o.share_staying_above,
            "cost_per_year": str(o.cost_per_year),
        }
    return figures
