"""What the owner of a site is left with: a plan for winter and for spills, and people who were trained."""

from typing import Any, Self

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from core.calc.audit import AuditState
from core.calc.format import day
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord, Row
from maintenance.calc.site_plans import TrainingFacts
from qa.models import Site
from qa.models.sites import OfSiteQuerySet

LONGEST = 1500
_DOCUMENT = _lazy(
    "A document that stands behind it, with its edition. Left empty, it is given as common practice."
)


def _text(name: Any, help_text: Any = "") -> models.TextField[str, str]:
    return models.TextField(name, max_length=LONGEST, help_text=help_text)


class SitePlan(Row):
    """How a site is kept in winter and what is done about a spill.

    One for the site, not for each surface: snow is cleared from all of them at once and piled where it harms none, and
    the same people are called whichever of them is hit.
    """

    site = models.OneToOneField(Site, models.PROTECT, related_name="plan", editable=False)
    spread = _text(_lazy("what may be spread"))
    clearing = _text(_lazy("clearing"), _lazy("Blade, rubber edge, height."))
    snow_stored = _text(_lazy("where snow may be piled"))
    snow_kept_off = _text(_lazy("where it must not be piled"))
    winter_source = models.CharField(
        _lazy("winter: from which document"), max_length=200, blank=True, help_text=_DOCUMENT
    )
    spill_first = _text(_lazy("stop, contain, keep off"))
    spill_calls = _text(
        _lazy("who is called"),
        _lazy("Names and telephone numbers, the first to call first, the local emergency number among them."),
    )
    spill_never = _text(_lazy("what must not be done"))
    spill_after = _text(_lazy("afterwards"))
    spill_source = models.CharField(
        _lazy("spills: from which document"), max_length=200, blank=True, help_text=_DOCUMENT
    )

    objects = OfSiteQuerySet["SitePlan"].as_manager()
    history = HistoricalRecords()

    def __str__(self) -> str:
        return _("Winter and spill plan of {site}").format(site=self.site)

    def get_absolute_url(self) -> str:
        return self.site.get_absolute_url()


class TrainingQuerySet(OfSiteQuerySet["Training"]):
    def active(self) -> Self:
        """Those that documents name."""
        return self.filter(state=AuditState.ACTIVE)


def nobody_trained() -> dict[str, object]:
    """What is stored before anybody is entered."""
    return TrainingFacts().to_json()


class Training(AuditedRecord):
    """That the owner's people were shown how the site's surfaces are kept."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="trainings", editable=False)
    trained_on = models.DateField(_lazy("trained on"), help_text=_lazy("Calendar date at the site."))
    trained_by = models.CharField(_lazy("by whom"), max_length=120)
    facts_json = models.JSONField(default=nobody_trained, editable=False)
    facts = StoredFact(TrainingFacts, "facts_json")

    objects = TrainingQuerySet.as_manager()

    class Meta:
        ordering = ("-trained_on", "-created_at", "pk")

    def __str__(self) -> str:
        return _("Training of {day}").format(day=day(self.trained_on))

    def get_absolute_url(self) -> str:
        return reverse("maintenance:training-detail", args=[self.pk])
