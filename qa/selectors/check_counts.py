"""How far the construction checks of many surfaces have come, in a constant number of queries."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from uuid import UUID

from django.db.models import Prefetch

from qa.calc.check_progress import CheckStatus, status_of
from qa.models import CheckEntry, ConstructionCheck
from qa.selectors.construction import AUTOMATIC, noted_of


def check_counts(surfaces: Collection[UUID]) -> Mapping[UUID, Counter[CheckStatus]]:
    """How many checks stand how, by surface; those without a construction record are not in it.

    Without the checks that test rounds answer.
    """
    entries = Prefetch("entries", CheckEntry.objects.order_by("created_at", "pk"))
    rows = ConstructionCheck.objects.filter(record__surface__in=surfaces).exclude(key__in=AUTOMATIC)
    counts: dict[UUID, Counter[CheckStatus]] = defaultdict(Counter)
    for row in rows.select_related("record").prefetch_related(entries):
        counts[row.record.surface_id][status_of(noted_of(row), row.readings_asked)] += 1
    return counts
