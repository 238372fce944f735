"""Tells maintenance what was agreed and what is planned for a surface."""

from maintenance.calc.actions import AgreedCare
from maintenance.models import CleaningEvent
from planning.models import Agreement, VisitTask
from planning.services.matching import match_records_to_tasks
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

    def match_records(self, surface: Surface) -> None:
        """Mark planned tasks done where their record exists by now."""
        match_records_to_tasks(surface=surface)

    def follow_correction(self, old: CleaningEvent, new: CleaningEvent) -> None:
        """Let a task that was proved by `old` be proved by its correction."""
        VisitTask.objects.filter(cleaning=old).update(cleaning=new)
