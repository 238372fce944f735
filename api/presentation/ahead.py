"""What lies ahead of surfaces, and documents about them, as they are answered."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from accounts.calc.audience import Audience, Matter
from api.presentation.base import Amount, Row, Shown, amount_of
from core.calc.audit import AuditState
from core.calc.units import UnitSystem
from maintenance.calc.text import names_money, speak
from maintenance.calc.vocabulary import Action, ForecastBasis, RecommendationStatus, SurfaceState
from maintenance.models import AdviceRelease, Forecast, Recommendation
from planning.calc.vocabulary import TaskOutcome, VisitStatus
from planning.models import Visit, VisitTask
from reporting.calc.snapshots import SnapshotKind
from reporting.models import Snapshot
from reporting.selectors.kept import thaw


class TaskOut(Shown):
    """One thing to do on a visit."""

    id: UUID
    surface: UUID
    site: UUID
    action: Action
    title: str
    begins_min: int | None
    """Minutes from midnight at the site; null where no hour is set."""
    ends_min: int | None
    ended_at: datetime | None
    outcome: TaskOutcome | None
    recommendation: UUID | None


class VisitOut(Row):
    """A crew at one or more sites on a day. An owner's people see their own tasks of those still ahead."""

    visit_on: date
    status: VisitStatus
    crew: str
    """For people of the firm."""
    note: str
    """For people of the firm."""
    tasks: list[TaskOut]


class ForecastOut(Row):
    """The newest forecast of a surface: how fast it drains, and when it will fall below its limit."""

    surface: UUID
    site: UUID
    state: SurfaceState
    made_on: date | None
    is_stale: bool
    """Whether the record changed since; a newer one is being made."""
    rests_on: ForecastBasis
    rate_now_mm_h: float | None
    rate_low_mm_h: float | None
    """Lower end of the 80 % range."""
    rate_high_mm_h: float | None
    """Upper end of the 80 % range."""
    share_below_now: float | None
    """Probability, 0 to 1, of being below the limit today."""
    below_10_on: date | None
    """First day with a 10 % chance below the limit."""
    below_50_on: date | None
    below_90_on: date | None
    decline_percent_yr: float | None
    limit_mm_h: float


class RecommendationOut(Row):
    """What is advised. People of the firm read it as it stands; an owner's people as it was released to them."""

    surface: UUID
    site: UUID
    action: Action
    title: str
    method: str
    due_on: date
    earliest_on: date
    status: RecommendationStatus
    price: Amount | None
    """What the owner is expected to be charged."""
    reasons: list[str]
    share_below: float | None
    """Of being below the limit on the day it was advised; for people of the firm."""
    crew_hours: float | None
    """For people of the firm."""
    decision_reason: str
    """For people of the firm."""
    put_off_until: date | None
    released_at: datetime | None
    """When its owner was shown these words and this price; null for advice as it stands."""


class ReportOut(Row):
    """A report or handover record as it was kept on a day, for one audience."""

    kind: SnapshotKind
    title: str
    audience: Audience
    site: UUID
    surface: UUID | None
    since: date | None
    until: date
    made_at: datetime
    state: AuditState


class ReportWithContent(ReportOut):
    """A kept document with what it says."""

    content: dict[str, Any]
    """Plain data with the number of their schema: the same that page and paper are made from."""


def visit_out(row: Visit, audience: Audience) -> VisitOut:
    """A visit. Expects the tasks that the reader may see fetched as `shown_tasks`."""
    crews = audience.sees(Matter.CREWS)
    return VisitOut(
        id=row.pk,
        stored_at=row.created_at,
        visit_on=row.visit_on,
        status=VisitStatus(row.status),
        crew=str(row.crew) if crews else "",
        note=audience.shown(Matter.NOTES, row.note, ""),
        tasks=[_task(one, audience) for one in row.shown_tasks],  # type: ignore[attr-defined]
    )


def _task(row: VisitTask, audience: Audience) -> TaskOut:
    return TaskOut(
        id=row.pk,
        surface=row.surface_id,
        site=row.surface.site_id,
        action=Action(row.action),
        title=row.title,
        begins_min=row.begins_min,
        ends_min=row.ends_min,
        ended_at=row.ended_at,
        outcome=TaskOutcome(row.outcome) if row.outcome else None,
        recommendation=audience.shown(Matter.UNRELEASED_ADVICE, row.recommendation_id, None),
    )


_FIGURES = (
    "made_on",
    "rate_now_mm_h",
    "rate_low_mm_h",
    "rate_high_mm_h",
    "share_below_now",
    "below_10_on",
    "below_50_on",
    "below_90_on",
    "decline_percent_yr",
)


def forecast_out(row: Forecast, audience: Audience) -> ForecastOut:
    """A forecast without its curves. Expects the surface joined."""
    figures: dict[str, Any] = {name: getattr(row, name) for name in _FIGURES}
    return ForecastOut(
        id=row.pk,
        stored_at=row.created_at,
        surface=row.surface_id,
        site=row.surface.site_id,
        state=SurfaceState(row.surface_state),
        is_stale=row.made_from_version < row.surface.record_version,
        rests_on=ForecastBasis(row.rests_on),
        limit_mm_h=row.surface.limit_mm_h,
        **figures,
    )


def recommendation_out(row: Recommendation, audience: Audience) -> RecommendationOut:
    """Advice as it stands, for people of the firm."""
    return RecommendationOut(
        id=row.pk,
        stored_at=row.created_at,
        surface=row.surface_id,
        site=row.surface.site_id,
        action=Action(row.action),
        title=row.title,
        method=row.method_now,
        due_on=row.due_on,
        earliest_on=row.earliest_on,
        status=RecommendationStatus(row.status),
        price=audience.shown(Matter.PRICES, amount_of(row.cost, row.currency), None),
        reasons=[speak(said, UnitSystem.SI) for said in row.reasons],
        share_below=row.share_below,
        crew_hours=audience.shown(Matter.COSTS, row.crew_hours, None),
        decision_reason=audience.shown(Matter.INTERNAL_REASONS, row.decision_reason, ""),
        put_off_until=row.put_off_until,
        released_at=None,
    )


def released_out(row: AdviceRelease, audience: Audience) -> RecommendationOut:
    """Advice in the words and at the price in which its owner was shown it. Expects the advice joined."""
    content, prices = row.content, audience.sees(Matter.PRICES)
    return RecommendationOut(
        id=row.pk,
        stored_at=row.created_at,
        surface=row.surface_id,
        site=row.surface.site_id,
        action=content.action,
        title=content.title,
        method=content.method,
        due_on=content.due_on,
        earliest_on=content.earliest_on,
        status=RecommendationStatus(row.recommendation.status),
        price=amount_of(content.cost, content.currency) if prices else None,
        reasons=[speak(said, UnitSystem.SI) for said in content.reasons if prices or not names_money(said)],
        share_below=None,
        crew_hours=None,
        decision_reason="",
        put_off_until=None,
        released_at=row.released_at,
    )


def report_out(row: Snapshot, audience: Audience) -> ReportOut:
    """A kept document without what it says."""
    return ReportOut(**_report(row))


def report_with_content(row: Snapshot, audience: Audience) -> ReportWithContent:
    """A kept document with what it says. Raises UnreadablePayloadError for one of a newer edition."""
    return ReportWithContent(**_report(row), content=thaw(row).to_json())


def _report(row: Snapshot) -> dict[str, Any]:
    return {
        "id": row.pk,
        "stored_at": row.created_at,
        "kind": SnapshotKind(row.kind),
        "title": row.title,
        "audience": Audience(row.audience),
        "site": row.site_id,
        "surface": row.surface_id,
        "since": row.since,
        "until": row.until,
        "made_at": row.made_at,
        "state": AuditState(row.state),
    }
