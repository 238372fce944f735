"""Everything done to rain records."""

from collections.abc import Iterable

from django.db import transaction

from core.services.records import save_once
from qa.calc.rain_record import Fall, RainTable, Span, joined, without
from qa.models import RainCover, RainFall, RainRecord

AT_ONCE = 2_000  # rows stored by one statement


@transaction.atomic
def save_rain_record(*, record: RainRecord) -> RainRecord:
    """Store a new or changed rain record."""
    return save_once(record, organisation=record.organisation_id)


@transaction.atomic
def add_table(*, record: RainRecord, table: RainTable) -> RainRecord:
    """Store what a table holds in place of what was known of the time from its first row to its last.

    A stored row that only reaches into that time goes too, and so does what it covered outside of it.
    """
    record = RainRecord.objects.select_for_update().get(pk=record.pk)
    whole = table.whole
    gone = record.falls.filter(begins_at__lt=whole.ends, ends_at__gt=whole.begins)
    reached = [Span(*ends) for ends in gone.values_list("begins_at", "ends_at")]
    gone.delete()
    _store_falls(record, table.falls)
    known = [Span(*ends) for ends in record.covers.values_list("begins_at", "ends_at")]
    kept = without(known, [whole, *reached])
    record.covers.all().delete()
    covers = joined([*kept, *table.covered])
    RainCover.objects.bulk_create(
        [RainCover(record=record, begins_at=span.begins, ends_at=span.ends) for span in covers], AT_ONCE
    )
    return record


def _store_falls(record: RainRecord, falls: Iterable[Fall]) -> None:
    rows = [
        RainFall(record=record, begins_at=fall.span.begins, ends_at=fall.span.ends, depth_mm=fall.depth_mm)
        for fall in falls
    ]
    RainFall.objects.bulk_create(rows, AT_ONCE)
