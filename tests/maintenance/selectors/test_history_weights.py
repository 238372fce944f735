"""What spots weigh in a history, whatever became of their locations since, and when events stand in it."""

from datetime import date, timedelta

import pytest

from clogging import api
from maintenance.selectors.histories import date_of, day_at, histories_of, portfolio_of, years_of
from qa.models import Location
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SourceChangeFactory,
    SurfaceFactory,
)
from tests.maintenance.selectors.test_histories import save_yard

DAY = date(2024, 6, 1)


def recorded(firm):
    (found,) = histories_of([firm.surface])
    return found


def weights(firm):
    """Of the only round, by label of the location."""
    (event,) = recorded(firm).history.events
    labels = {str(row.pk): row.label for row in Location.objects.all()}
    return {labels[spot.location]: spot.weight for spot in event.tests}


def spots_tested(firm, **zones):
    """A location of each zone by its label, each tested once in one round."""
    round_ = RoundFactory(surface=firm.surface, tested_on=DAY)
    places = {}
    for label, zone in zones.items():
        places[label] = LocationFactory(surface=firm.surface, label=label, zone=zone)
        InfiltrationTestFactory(round=round_, location=places[label])
    return places


def test_a_retired_location_keeps_the_weight_of_its_zone(firm):
    save_yard(firm.surface)
    places = spots_tested(firm, a="edge", b="interior")
    before = weights(firm)

    Location.objects.filter(pk=places["a"].pk).update(retired=True)

    assert weights(firm) == before == pytest.approx({"a": 75.0, "b": 925.0})


def test_a_location_without_a_position_weighs_by_its_zone_all_the_same(firm):
    save_yard(firm.surface)
    places = spots_tested(firm, a="edge", b="interior")
    Location.objects.filter(pk=places["b"].pk).update(x_m=25.0, y_m=10.0)

    found = weights(firm)

    assert Location.objects.get(pk=places["a"].pk).x_m is None
    assert found == pytest.approx({"a": 75.0, "b": 925.0})


def test_without_an_outline_all_spots_weigh_alike(firm):
    spots_tested(firm, a="edge", b="interior")

    assert weights(firm) == {"a": 1.0, "b": 1.0}


def test_a_zone_that_the_outline_does_not_have_makes_all_alike(firm):
    save_yard(firm.surface)
    spots_tested(firm, a="edge", b="low")

    assert weights(firm) == {"a": 1.0, "b": 1.0}


def test_spots_of_two_rounds_of_a_day_share_the_zone_between_them(firm):
    save_yard(firm.surface)
    spots_tested(firm, a="edge", b="interior")
    spots_tested(firm, c="interior", d="interior")

    found = weights(firm)

    assert found == pytest.approx({"a": 75.0, "b": 925 / 3, "c": 925 / 3, "d": 925 / 3})


def test_one_location_tested_in_two_rounds_of_a_day_is_one_spot_with_the_mean(firm):
    save_yard(firm.surface)
    places = spots_tested(firm, a="edge", b="interior")
    again = InfiltrationTestFactory(
        round=RoundFactory(surface=firm.surface, tested_on=DAY), location=places["b"], elapsed_s=300.0
    )
    first = places["b"].tests.exclude(pk=again.pk).get()

    (event,) = recorded(firm).history.events

    assert len(event.tests) == 2
    (inside,) = [spot for spot in event.tests if spot.location == str(places["b"].pk)]
    assert inside.rate_mm_h == pytest.approx((first.rate_mm_h + again.rate_mm_h) / 2)
    assert inside.weight == pytest.approx(925.0)


def test_rounds_of_two_days_have_weights_of_their_own(firm):
    save_yard(firm.surface)
    spots_tested(firm, a="edge", b="interior")
    round_ = RoundFactory(surface=firm.surface, tested_on=DAY + timedelta(days=1))
    InfiltrationTestFactory(round=round_, location=LocationFactory(surface=firm.surface, zone="edge"))

    first, second = recorded(firm).history.events

    assert sorted(spot.weight for spot in first.tests) == pytest.approx([75.0, 925.0])
    assert [spot.weight for spot in second.tests] == pytest.approx([75.0])


@pytest.mark.parametrize("state", ["void", "replaced"])
def test_what_was_set_aside_or_corrected_reaches_no_history(firm, state):
    round_ = RoundFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, state=state)
    CleaningFactory(surface=firm.surface, state=state)
    SourceChangeFactory(surface=firm.surface, state=state)

    assert recorded(firm).history.events == ()


def test_events_stand_in_the_order_of_their_days_with_the_rows_behind_them(firm):
    late = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=DAY))
    cleaning = CleaningFactory(surface=firm.surface, cleaned_on=DAY - timedelta(days=9))
    SourceChangeFactory(surface=firm.surface, changed_on=DAY - timedelta(days=3))
    early = InfiltrationTestFactory(
        round=RoundFactory(surface=firm.surface, tested_on=DAY - timedelta(days=30))
    )

    found = recorded(firm)

    kinds = [type(event) for event in found.history.events]
    assert kinds == [api.RoundEvent, api.CleaningEvent, api.SourceEvent, api.RoundEvent]
    assert list(found.round_ids) == [early.round_id, late.round_id]
    assert list(found.cleaning_ids) == [cleaning.pk]


@pytest.mark.parametrize(("wetness", "wet"), [("wet", True), ("dry", False), ("", False)])
def test_a_cleaning_is_read_with_its_share_and_whether_it_was_wet(firm, wetness, wet):
    CleaningFactory(surface=firm.surface, share_of_area=0.4, wetness=wetness)

    (event,) = recorded(firm).history.events

    assert (event.method, event.share, event.wet) == ("vacuum", 0.4, wet)


def test_a_day_before_the_opening_counts_as_the_opening(firm):
    opened = firm.surface.opened_on

    assert years_of(firm.surface, opened - timedelta(days=40)) == 0.0
    assert years_of(firm.surface, opened) == 0.0
    assert years_of(firm.surface, opened + timedelta(days=1461)) == pytest.approx(4.0)


@pytest.mark.parametrize("days", [0, 1, 100, 365, 366, 5000])
def test_years_and_days_are_each_others_way_back(firm, days):
    day = firm.surface.opened_on + timedelta(days=days)

    assert day_at(firm.surface, years_of(firm.surface, day)) == day
    assert date_of(firm.surface, years_of(firm.surface, day)) == day


def test_a_time_that_never_comes_has_no_day(firm):
    assert date_of(firm.surface, None) is None


def test_a_firms_portfolio_holds_its_removed_surfaces_and_none_of_another_firm(firm):
    removed = SurfaceFactory(site=firm.site, removed_on=DAY)
    SurfaceFactory()

    assert {found.surface for found in portfolio_of(firm.organisation)} == {firm.surface, removed}


def test_histories_stand_in_the_order_they_were_asked_for_each_with_its_own(firm):
    beside = SurfaceFactory(site=firm.site)
    CleaningFactory(surface=beside)

    first, second = histories_of([beside, firm.surface])

    assert (first.surface, len(first.history.events)) == (beside, 1)
    assert (second.surface, second.history.events) == (firm.surface, ())


def test_many_surfaces_take_no_more_queries_than_one(firm, django_assert_max_num_queries):
    surfaces = [firm.surface, *(SurfaceFactory(site=firm.site) for _ in range(4))]
    for surface in surfaces:
        save_yard(surface)
        round_ = RoundFactory(surface=surface)
        InfiltrationTestFactory(round=round_, location=LocationFactory(surface=surface))

    with django_assert_max_num_queries(5):
        assert len(histories_of(surfaces)) == 5
