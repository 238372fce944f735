"""Water put into the ground: an estimate where a rain record covers the site, and plain words where it does not."""

from datetime import UTC, datetime, timedelta

import pytest

from accounts.calc.audience import Audience
from qa.models import RainCover, RainFall
from reporting.presentation.report import report_words
from reporting.selectors.report_water import NO_SOIL, NO_STONE
from reporting.selectors.sites import report_snapshot
from tests.clock import TODAY
from tests.factories import LayerFactory, RainRecordFactory

DAY = timedelta(days=1)
SINCE = TODAY - 100 * DAY
FIRST = datetime(SINCE.year, SINCE.month, SINCE.day, tzinfo=UTC)


@pytest.fixture
def rained(firm):
    """A surface of 1,000 m² on soil that takes 10 mm/h, and 10 showers of 11 mm, each within an hour."""
    record = RainRecordFactory(organisation=firm.organisation, name="Quay gauge")
    firm.site.rain_record, firm.surface.soil_rate_mm_h = record, 10.0
    firm.site.time_zone = "UTC"
    firm.site.save()
    firm.surface.save()
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300.0, porosity=0.4)
    RainCover.objects.create(record=record, begins_at=FIRST - 9 * DAY, ends_at=FIRST + 90 * DAY)
    for number in range(10):
        rain(record, FIRST + number * 5 * DAY, 11.0)
    return firm


def rain(record, begins, depth_mm, hours=1):
    ends = begins + timedelta(hours=hours)
    RainFall.objects.create(record=record, begins_at=begins, ends_at=ends, depth_mm=depth_mm)


def water(firm, audience=Audience.OWNER):
    firm.surface.refresh_from_db()
    firm.site.refresh_from_db()
    return report_snapshot(firm.site, audience, since=SINCE).surfaces[0].water


def test_the_rain_of_the_period_goes_into_the_ground_less_what_only_wets_it(rained):
    part = water(rained)

    assert part.rain_mm == pytest.approx(110.0)
    assert (part.came.low_m3, part.came.middle_m3, part.came.high_m3) == (pytest.approx(110.0),) * 3
    assert part.lost.middle_m3 == pytest.approx(10.0)
    assert part.ground.middle_m3 == pytest.approx(100.0)
    assert (part.ground.low_m3, part.ground.high_m3) == (pytest.approx(90.0), pytest.approx(105.0))
    assert part.ran_off.high_m3 == pytest.approx(0.0)
    assert part.kept is None


def test_days_that_the_record_does_not_tell_of_are_told(rained):
    part = water(rained)

    assert (part.covered_days, part.days) == (pytest.approx(90.0), 100)
    words = report_words(report_snapshot(rained.site, Audience.OWNER, since=SINCE), "si")
    said = dict(words["facts"])["Water put into the ground"]
    assert said == "100 m³ (90 m³ to 105 m³); estimated, the rain record covers 90 of 100 days"


def test_ground_that_drains_on_to_it_adds_a_range(rained):
    rained.surface.run_on_area_m2 = 1000.0
    rained.surface.save()

    part = water(rained)

    assert (part.came.low_m3, part.came.high_m3) == (pytest.approx(110 * 1.7), pytest.approx(110 * 1.95))
    assert any("runoff coefficient" in sentence.si for sentence in part.how)


def test_what_rises_to_the_overflow_is_kept_where_a_store_is(rained):
    rained.surface.soil_rate_mm_h = 0.0
    rained.surface.overflow_invert_mm, rained.surface.reuse_store_m3 = 0.0, 5.0
    rained.surface.save()

    part = water(rained)

    assert part.ground.high_m3 == pytest.approx(0.0)
    assert part.kept.high_m3 == pytest.approx(50.0)
    assert part.kept.low_m3 < part.kept.high_m3
    assert any("store for irrigation" in sentence.si for sentence in part.how)


def test_rows_of_a_day_say_what_is_assumed_of_their_hours(rained):
    rain(rained.site.rain_record, FIRST + 60 * DAY, 24.0, hours=24)

    assert any("stand for more than an hour" in sentence.si for sentence in water(rained).how)


def test_rain_before_the_opening_does_not_count(rained):
    rained.surface.opened_on = SINCE + 26 * DAY
    rained.surface.save()

    part = water(rained)

    assert (part.days, part.rain_mm) == (74, pytest.approx(44.0))


def test_nothing_is_said_without_a_rain_record_or_before_it_opens(rained):
    rained.surface.opened_on = TODAY + 9 * DAY
    rained.surface.save()
    assert water(rained) is None

    rained.surface.opened_on = SINCE
    rained.surface.save()
    rained.site.rain_record = None
    rained.site.save()
    assert water(rained) is None


@pytest.mark.parametrize(("lacks", "problem"), [("soil", NO_SOIL), ("stone", NO_STONE)])
def test_what_the_record_lacks_is_named_instead_of_a_figure(rained, lacks, problem):
    if lacks == "soil":
        rained.surface.soil_rate_mm_h = None
        rained.surface.save()
    else:
        rained.surface.layers.all().delete()

    part = water(rained)

    assert (part.problem, part.ground) == (problem, None)


def test_a_record_that_tells_nothing_of_the_period_says_so(rained):
    RainCover.objects.all().delete()

    assert "Quay gauge holds nothing of this time" in water(rained).problem


def test_an_estimate_reads_in_the_units_of_the_reader(rained):
    words = report_words(report_snapshot(rained.site, Audience.LINK, since=SINCE), "us")

    rows = dict(words["surfaces"][0]["water"]["rows"])
    assert rows["Put into the ground"] == "3530 ft³ (3180 ft³ to 3710 ft³)"
    assert "0.394 in/h" in words["surfaces"][0]["water"]["by_record"]
