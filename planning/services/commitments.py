"""Tells maintenance what was agreed and what is planned for a surface."""

from collections.abc import Sequence

from django.db.models import QuerySet, prefetch_related_objects

from core.calc.languages import Language
from maintenance.calc.actions import AgreedCare
from maintenance.models import CleaningEvent
from planning.models import Agreement, VisitTask
from planning.services.matching import match_records_to_tasks, surfaces_with_open_tasks, with_open_tasks
from planning.services.visits import left_of, outcome_of
from qa.models import Surface


def _has_ended(agreement: Agreement) -> bool:
    today = agreement.site.today()
    end = agreement.term_end(today)
    return end is not None and end < today


class PlannedCommitments:
    """What `maintenance.services.commitments` asks, answered from agreements and visits."""

    def agreed_care(self, surface: Surface) -> AgreedCare:
        """What the owner of the surface's site bought."""
        agreement = getattr(surface.site, "agreement", None)
        if agreement is None or _has_ended(agreement):
            return AgreedCare()
        return AgreedCare(agreement.tests_per_year, agreement.cleanings_per_year, agreement.since)

    def read_with(self, surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
        """With the agreements of their sites, and whether a visit is to do something there."""
        return with_open_tasks(surfaces.select_related("site__agreement"))

    def look_up(self, surfaces: Sequence[Surface]) -> None:
        """The agreements of their sites, those that there are not among them."""
        prefetch_related_objects([surface.site for surface in surfaces], "agreement")

    def match_records(self, surfaces: Sequence[Surface]) -> None:
        """Mark planned tasks done where their record exists by now."""
        planned = surfaces_with_open_tasks(surfaces)
        for surface in surfaces:
            if surface.pk in planned:
                match_records_to_tasks(surface=surface)

    def follow_correction(self, old: CleaningEvent, new: CleaningEvent) -> None:
        """Let a task that was proved by `old` be proved by its correction."""
        for task in VisitTask.objects.filter(cleaning=old):
            task.cleaning = new
            recorded = {left_of(old.share_of_area, language) for language in Language}
            if task.has_ended and task.outcome_reason in recorded:  # not as a person told it
                task.outcome = outcome_of(new.share_of_area)
                task.outcome_reason = left_of(new.share_of_area, task.surface.organisation.language)
            task.save(update_fields=["cleaning", "outcome", "outcome_reason"])
