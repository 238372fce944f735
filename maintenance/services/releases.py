"""Showing advice to owners, taking it back, and noticing where what was shown is no longer what is advised."""

from collections.abc import Sequence

from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import User
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.records import given_reason
from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.releases import differences
from maintenance.calc.vocabulary import Action, RecommendationStatus, ReleaseState
from maintenance.models import AdviceRelease, Recommendation
from qa.models import Surface

NOT_AHEAD = gettext_noop("%(what)s is %(status)s. Only advice that is still to be done can be released.")
ENDED = gettext_noop("This release was ended already. Reload the page to see the newest.")


def content_of(row: Recommendation) -> ReleasedAdvice:
    """What an owner would be shown of it now: the title in the language in use, the reasons for `text.speak`."""
    return ReleasedAdvice(
        action=Action(row.action),
        method=row.method,
        title=row.title,
        earliest_on=row.earliest_on,
        due_on=row.due_on,
        cost=row.cost,
        currency=row.currency,
        reasons=row.reasons,
    )


@transaction.atomic
def release(*, recommendations: Sequence[Recommendation], by: User) -> list[AdviceRelease]:
    """Show advice to the owners as it stands now, all or none. What they were shown of it before is replaced.

    Advice that was overtaken and answers the same question at the surface is replaced as well. A repeat changes
    nothing where the owner is shown just this already.
    """
    return [_release(each, by) for each in recommendations]


def _release(recommendation: Recommendation, by: User) -> AdviceRelease:
    row = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    if not row.can_be_released:
        said = {"what": str(row), "status": row.get_status_display().lower()}
        raise NotAllowedNowError(_(NOT_AHEAD) % said)
    shown = row.releases.standing().first()
    with override(row.surface.site.owner.reads):
        content = content_of(row)
    if shown and shown.content == content:
        return shown
    for old in _replaced_by(row):
        _end(old, ReleaseState.REPLACED, by, "")
    made = AdviceRelease(recommendation=row, surface=row.surface, released_by=by, released_at=now())
    made.content = content
    made.save()
    return made


def _replaced_by(row: Recommendation) -> list[AdviceRelease]:
    rows = row.surface.advice_releases.standing().select_for_update(of=("self",))
    return [
        old
        for old in rows.select_related("recommendation")
        if old.recommendation_id == row.pk
        or (
            old.recommendation.status == RecommendationStatus.OVERTAKEN
            and Action(old.recommendation.action).answers is Action(row.action).answers
        )
    ]


@transaction.atomic
def withdraw(*, release: AdviceRelease, by: User, reason: str) -> AdviceRelease:
    """Take back what an owner was shown, with the reason, which the firm alone reads."""
    why = given_reason(reason)
    row = AdviceRelease.objects.select_for_update().get(pk=release.pk)
    if not row.is_standing:
        raise AlreadyDoneError(_(ENDED))
    return _end(row, ReleaseState.WITHDRAWN, by, why)


@transaction.atomic
def end_release(*, recommendation: Recommendation, by: User, reason: str) -> None:
    """Take back what an owner was shown of it, if anything."""
    for row in recommendation.releases.standing().select_for_update():
        _end(row, ReleaseState.WITHDRAWN, by, reason)


def _end(row: AdviceRelease, state: ReleaseState, by: User, reason: str) -> AdviceRelease:
    row.state, row.ended_by, row.ended_at, row.end_reason = state, by, now(), reason
    row.save(update_fields=["state", "ended_by", "ended_at", "end_reason"])
    return row


def note_changes(*, surface: Surface) -> None:
    """Mark the surface's releases whose advice is materially another by now, and unmark those that fit again.

    To be called in a transaction.
    """
    rows = surface.advice_releases.standing().select_related("recommendation")
    for row in rows.select_for_update(of=("self",)):
        advice = row.recommendation
        gone = advice.status == RecommendationStatus.OVERTAKEN
        found = list(differences(row.content, content_of(advice), is_gone=gone))
        if found != row.differs:
            row.differs_since = (row.differs_since or now()) if found else None
            row.differs = found
            row.save(update_fields=["differs", "differs_since"])
