"""What owners were shown of the advice about their surfaces, by whom and when, and what became of it."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.timezone import now
from django.utils.translation import gettext as _

from accounts.calc.roles import Role
from core.calc.format import day
from core.models.pages import page_of
from core.models.payloads import StoredFact
from core.models.rows import Row
from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.vocabulary import RecommendationStatus, ReleaseState
from maintenance.models.recommendations import Recommendation
from qa.models import Surface
from qa.models.surfaces import OfSurfaceQuerySet

# What was overtaken stays with the owner, marked with its date, until the office says otherwise.
SHOWN = (
    RecommendationStatus.OPEN,
    RecommendationStatus.PLANNED,
    RecommendationStatus.PUT_OFF,
    RecommendationStatus.OVERTAKEN,
)


class AdviceReleaseQuerySet(OfSurfaceQuerySet["AdviceRelease"]):
    def for_user(self, user: Any, role: Role = Role.OWNER) -> "AdviceReleaseQuerySet":
        """All of the firm's; an owner's people read only what is shown to them now."""
        of_firm = super().for_user(user, max(role, Role.VIEWER))
        return of_firm | super().for_user(user, role).shown() if role == Role.OWNER else of_firm

    def standing(self) -> "AdviceReleaseQuerySet":
        """Neither replaced nor withdrawn."""
        return self.filter(state=ReleaseState.STANDING)

    def shown(self) -> "AdviceReleaseQuerySet":
        """What owners see: standing, and still to be done."""
        return self.standing().filter(recommendation__status__in=SHOWN, surface__removed_on=None)

    def changed(self) -> "AdviceReleaseQuerySet":
        """Shown to owners, but the advice differs materially by now."""
        return self.shown().filter(differs_since__isnull=False)


class AdviceRelease(Row):
    """One piece of advice as an owner was shown it: words and price of that day, never rewritten.

    differs_since: from when on the advice is materially another; differs: in which way, sentences for `text.speak`.
    """

    recommendation = models.ForeignKey(Recommendation, models.CASCADE, related_name="releases")
    surface = models.ForeignKey(Surface, models.CASCADE, related_name="advice_releases")
    content_json = models.JSONField(editable=False)
    content = StoredFact(ReleasedAdvice, "content_json")
    state = models.CharField(
        max_length=10, choices=ReleaseState.choices, default=ReleaseState.STANDING.value, editable=False
    )
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, editable=False, related_name="+"
    )
    released_at = models.DateTimeField(default=now, editable=False)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, editable=False)
    end_reason = models.TextField(blank=True, editable=False)
    differs = models.JSONField(default=list, editable=False)
    differs_since = models.DateTimeField(null=True, editable=False)

    objects = AdviceReleaseQuerySet.as_manager()

    class Meta:
        ordering = ("-released_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("recommendation",),
                condition=Q(state=ReleaseState.STANDING.value),
                name="maintenance_one_standing_release",
            )
        ]

    def __str__(self) -> str:
        return _("{advice} at {surface}, released {day}").format(
            advice=self.content.title, surface=self.surface, day=day(self.released_at)
        )

    @property
    def crumb(self) -> str:
        """What it is called below its surface."""
        return self.content.title

    def get_absolute_url(self) -> str:
        return page_of(self)

    @property
    def is_standing(self) -> bool:
        """Whether it is neither replaced nor withdrawn."""
        return self.state == ReleaseState.STANDING
