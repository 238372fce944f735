"""What should be done to a surface, by when and why, and what people decided."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Case, F, Q, When
from django.utils.translation import gettext as _

from accounts.calc.roles import Role
from core.calc.paving import CleaningMethod
from core.calc.payload import UNREADABLE
from core.models.decimals import DecimalColumn
from core.models.pages import page_of
from core.models.payloads import StoredPayload
from core.models.rows import Row
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.vocabulary import Action, RecommendationStatus
from qa.models import Surface
from qa.models.surfaces import OfSurfaceQuerySet

UNDECIDED = (RecommendationStatus.OPEN, RecommendationStatus.PUT_OFF)
RELEASABLE = (RecommendationStatus.OPEN, RecommendationStatus.PLANNED, RecommendationStatus.PUT_OFF)
TAKEN_ON = (RecommendationStatus.PLANNED, RecommendationStatus.DONE, RecommendationStatus.OVERTAKEN)


def why_unreadable() -> str:
    """What stands in the place of reasons that cannot be read."""
    return f"{_('Why it was advised is not shown.')} {_(UNREADABLE)}"


def action_words(action: str, method: str) -> str:
    """What is to be done, with the way of cleaning where it has one."""
    return Action(action).in_words(method)


def method_now(prefix: str = "") -> Case:
    """`Recommendation.method_now` as a column. prefix: the path to the advice."""
    planned = Q(**{f"{prefix}status__in": TAKEN_ON}) & ~Q(**{f"{prefix}planned_method": ""})
    return Case(When(planned, then=F(f"{prefix}planned_method")), default=F(f"{prefix}method"))


class RecommendationQuerySet(OfSurfaceQuerySet["Recommendation"]):
    def for_user(self, user: Any, role: Role = Role.OWNER) -> "RecommendationQuerySet":
        """The firm's people alone: an owner reads what was released, `AdviceRelease`, never the advice itself."""
        return super().for_user(user, max(role, Role.VIEWER))

    def open(self) -> "RecommendationQuerySet":
        """Waiting for somebody's decision."""
        return self.filter(status=RecommendationStatus.OPEN)

    def ahead(self) -> "RecommendationQuerySet":
        """Still to be done, decided or not, put off or not."""
        return self.filter(status__in=RELEASABLE)


class Recommendation(Row):
    """One piece of advice with its reasons in words and figures."""

    surface = models.ForeignKey(Surface, models.CASCADE, related_name="recommendations")
    action = models.CharField(max_length=8, choices=Action.choices)
    method = models.CharField(max_length=16, choices=CleaningMethod.choices, blank=True)
    due_on = models.DateField(help_text="The day by which it should be done.")
    earliest_on = models.DateField(help_text="First workable day.")
    cost = DecimalColumn(max_digits=14, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=3)
    grounds_json = models.JSONField(
        help_text="Sentences, the deciding one first, and the numbers behind them."
    )
    grounds = StoredPayload(Grounds, "grounds_json")
    waiting_costs = DecimalColumn(
        max_digits=14,
        decimal_places=2,
        default=Decimal(0),
        editable=False,
        help_text="What a quarter's waiting is expected to cost, the price of the work counted; 0 where unknown.",
    )
    crew_hours = models.FloatField(
        default=0.0, editable=False, help_text="Of the work alone, without the way there."
    )
    share_below = models.FloatField(
        null=True, editable=False, help_text="Of being below the limit on the day it was advised."
    )
    status = models.CharField(
        max_length=10, choices=RecommendationStatus.choices, default=RecommendationStatus.OPEN.value
    )
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    decided_at = models.DateTimeField(null=True, editable=False)
    decision_reason = models.TextField(blank=True)
    put_off_until = models.DateField(null=True, editable=False, help_text="The day on which it returns.")
    returned_because = models.TextField(
        blank=True, editable=False, help_text="Why it is given again after it was put off or declined."
    )
    planned_method = models.CharField(
        max_length=16,
        choices=CleaningMethod.choices,
        blank=True,
        editable=False,
        help_text="What somebody planned instead of the method advised.",
    )

    objects = RecommendationQuerySet.as_manager()

    class Meta:
        ordering = ("due_on", "surface", "action")
        # Rows are wide with their grounds: what is ranked, counted and summed over all surfaces is read from it alone.
        indexes = [
            models.Index(
                fields=[
                    "status",
                    "surface",
                    "-waiting_costs",
                    "due_on",
                    "id",
                    "action",
                    "cost",
                    "crew_hours",
                ],
                name="maintenance_advice_by_cost",
            )
        ]
        constraints = [
            models.UniqueConstraint(
                fields=("surface", "action"),
                condition=Q(status=RecommendationStatus.OPEN.value),
                name="maintenance_one_open_advice_an_action",
            )
        ]

    def __str__(self) -> str:
        return f"{self.title} {self.surface}"

    @property
    def crumb(self) -> str:
        """What it is called below its surface."""
        return self.title

    def get_absolute_url(self) -> str:
        return page_of(self)

    @property
    def method_now(self) -> str:
        """How it is to be cleaned: as somebody planned it, else as advised."""
        return (self.planned_method if self.status in TAKEN_ON else "") or self.method

    @property
    def reasons(self) -> tuple[str, ...]:
        """Sentences for `text.speak`, the deciding one first; never empty."""
        grounds = self.grounds
        return grounds.reasons if grounds else (why_unreadable(),)

    def rests_on(self, record_version: int) -> bool:
        """Whether it was advised on this very record."""
        grounds = self.grounds
        return grounds is not None and grounds.record_version == record_version

    @property
    def is_agreed_only(self) -> bool:
        """Whether the agreement alone asks for it, and the surface would not need it."""
        grounds = self.grounds
        return grounds is not None and grounds.is_agreed

    @property
    def wants_word(self) -> bool:
        """Whether a person is to decide it, for its price."""
        grounds = self.grounds
        return grounds is not None and grounds.wants_word

    @property
    def can_be_released(self) -> bool:
        """Whether an owner can be shown it: it is still to be done, decided or not."""
        return self.status in RELEASABLE

    @property
    def can_be_decided(self) -> bool:
        """Whether it waits for a decision, be it until a day."""
        return self.status in UNDECIDED

    @property
    def decided_on(self) -> date | None:
        """The day of the decision, at the site. Reads the surface's site where it is not joined."""
        return self.surface.site.today(self.decided_at) if self.decided_at else None

    @property
    def is_put_off(self) -> bool:
        """Whether it waits for a day."""
        return self.status == RecommendationStatus.PUT_OFF

    @property
    def is_open(self) -> bool:
        """Whether it is still to be decided."""
        return self.status == RecommendationStatus.OPEN

    @property
    def title(self) -> str:
        """The action, with its method where it has one."""
        return action_words(self.action, self.method)
