"""Storing tables of rain, and what the record then says of tests and months."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from qa.calc.dry_time import DryVerdict
from qa.calc.rain_record import Fall, RainTable, Reading, Span, Stamp, Step, joined, read_table
from qa.models import RainFall, RainRecord, TestRound
from qa.selectors.rain_records import (
    KnownRain,
    active_tests,
    doubtful_rounds,
    dry_time_of,
    months_of,
    span_tested,
)
from qa.services import rain_records
from tests.factories import InfiltrationTestFactory, RainRecordFactory, RoundFactory

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
JUNE = datetime(2026, 6, 1, tzinfo=UTC)


def span(first_h, count_h):
    return Span(JUNE + first_h * HOUR, JUNE + (first_h + count_h) * HOUR)


def table(falls=(), covered=((0, 240),)):
    """Of hours since the first of June: when rain fell, in steps of an hour, and what is covered."""
    return RainTable([Fall(span(at, 1), mm) for at, mm in falls], joined([span(*each) for each in covered]))


def stored(record):
    return [(Span(row.begins_at, row.ends_at), row.depth_mm) for row in record.falls.all()]


def covered(record):
    return [Span(row.begins_at, row.ends_at) for row in record.covers.all()]


@pytest.fixture
def record():
    return RainRecordFactory()


def test_a_table_is_stored_and_sent_again_changes_nothing(record):
    for _ in range(2):
        rain_records.add_table(record=record, table=table([(5, 2.0), (9, 1.0)]))

    assert stored(record) == [(span(5, 1), 2.0), (span(9, 1), 1.0)]
    assert covered(record) == [span(0, 240)]


def test_a_newer_table_takes_the_place_of_what_it_spans_and_nothing_else(record):
    rain_records.add_table(record=record, table=table([(5, 2.0), (50, 1.0), (200, 4.0)]))

    rain_records.add_table(record=record, table=table([(60, 7.0)], covered=[(48, 24)]))

    assert stored(record) == [(span(5, 1), 2.0), (span(60, 1), 7.0), (span(200, 1), 4.0)]
    assert covered(record) == [span(0, 240)]


def test_what_only_reaches_into_the_new_table_goes_with_all_it_covered(record):
    """A day's total cannot be cut: half of it would be rain that nobody measured."""
    daily = RainTable([Fall(span(24, 24), 9.0)], [span(0, 72)])
    rain_records.add_table(record=record, table=daily)

    rain_records.add_table(record=record, table=table([], covered=[(36, 6)]))

    assert stored(record) == []
    assert covered(record) == [span(0, 24), span(36, 6), span(48, 24)]


def test_two_records_do_not_touch_each_other(record):
    other = RainRecordFactory(organisation=record.organisation)
    rain_records.add_table(record=other, table=table([(5, 2.0)]))

    rain_records.add_table(record=record, table=table([(5, 8.0)]))

    assert stored(other) == [(span(5, 1), 2.0)]


def test_a_name_stands_once_in_a_firm(record):
    again = RainRecord(organisation=record.organisation, name=record.name)

    with pytest.raises(ValidationError, match="already a rain record of this name"):
        rain_records.save_rain_record(record=again)


@pytest.fixture
def gauged(firm):
    """The firm's site with a record that covers June; rain fell at noon of the eighth."""
    record = RainRecordFactory(organisation=firm.organisation)
    firm.site.rain_record, firm.site.time_zone = record, "UTC"
    firm.site.save()
    rain_records.add_table(record=record, table=table([(7 * 24 + 12, 3.0)], covered=[(0, 720)]))
    return record


def round_on(firm, day, finished_at=None, **values):
    round_ = RoundFactory(surface=firm.surface, tested_on=date(2026, 6, day), **values)
    InfiltrationTestFactory(round=round_, finished_at=finished_at, elapsed_s=600.0)
    return TestRound.objects.select_related("surface__site").get(pk=round_.pk)


def dry_of(round_):
    return dry_time_of(round_)


def test_a_timed_test_is_held_to_the_hour(firm, gauged):
    round_ = round_on(firm, 9, datetime(2026, 6, 9, 9, 10, tzinfo=UTC))

    dry = dry_of(round_)

    assert dry.least_h == pytest.approx(20.0)
    assert dry.verdict is DryVerdict.WET


def test_a_test_without_a_time_is_held_to_its_day_at_the_site(firm, gauged):
    firm.site.time_zone = "Pacific/Kiritimati"
    firm.site.save()
    round_ = round_on(firm, 9)

    tested = span_tested(round_, active_tests(round_))

    assert tested == Span(datetime(2026, 6, 8, 10, tzinfo=UTC), datetime(2026, 6, 9, 10, tzinfo=UTC))


def test_a_site_without_a_record_is_told_nothing(firm):
    assert dry_of(round_on(firm, 9)) is None


@pytest.mark.parametrize(("stated", "listed"), [(48.0, True), (None, True), (20.0, False)])
def test_rounds_that_the_record_does_not_bear_out_are_listed(firm, gauged, stated, listed):
    finished = datetime(2026, 6, 9, 9, 10, tzinfo=UTC)
    round_ = round_on(firm, 9, finished, hours_since_rain=stated)
    round_on(firm, 20, finished + 11 * DAY, hours_since_rain=48.0)

    found = doubtful_rounds(gauged, TestRound.objects.all(), KnownRain(gauged))

    assert [each.round for each in found] == ([round_] if listed else [])


def test_many_rounds_cost_as_many_queries_as_one(firm, gauged, django_assert_max_num_queries):
    for day in range(1, 12):
        round_on(firm, day)

    with django_assert_max_num_queries(4):
        doubtful_rounds(gauged, TestRound.objects.all(), KnownRain(gauged))


def test_months_are_summed_by_the_calendar_of_the_place_with_what_is_known_of_them(record):
    """By hand: of June's 720 hours 240 are covered; rain at 23:30 UTC on 31 May falls in June in Berlin."""
    record.time_zone = "Europe/Berlin"
    rows = ["2026-05-31T23:00Z,1.5", "2026-06-05T00:00Z,2.5", "2026-06-10T21:00Z,0"]
    reading = Reading(Step.HOUR, Stamp.BEGIN, "Europe/Berlin", dry_left_out=True)
    rain_records.add_table(record=record, table=read_table(["time,rain_mm", *rows], reading))

    months = months_of(record, KnownRain(record))

    assert list(months) == [2026]
    assert months[2026][6].depth_mm == pytest.approx(4.0)
    assert months[2026][6].covered == pytest.approx((240 - 1) / 720)


def test_december_is_followed_by_january(record):
    rows = ["2025-12-31,1", "2026-01-01,2"]
    rain_records.add_table(
        record=record, table=read_table(["time,rain_mm", *rows], Reading(Step.DAY, Stamp.BEGIN, "UTC"))
    )

    months = months_of(record, KnownRain(record))

    assert (months[2025][12].depth_mm, months[2026][1].depth_mm) == (1.0, 2.0)


def test_a_record_without_rain_has_no_months(record):
    assert months_of(record, KnownRain(record)) == {}


def test_a_dry_record_stores_no_rain(record):
    rain_records.add_table(record=record, table=table())

    assert not RainFall.objects.exists()
