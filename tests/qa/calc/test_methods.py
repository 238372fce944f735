import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import TestMethod
from core.errors import UnusableRecordError
from qa.calc import methods
from qa.calc.effects import Effect
from qa.calc.methods import FloodRun, Gives, MethodRate
from qa.calc.sources import SourceStatus

POSITIVE = st.floats(min_value=0.1, max_value=1e4)


def test_every_method_says_what_it_gives_and_where_it_comes_from():
    assert set(methods.METHODS) == set(TestMethod)
    assert methods.METHODS[TestMethod.SPREADING_AREA].gives is Gives.SCREENING
    assert methods.METHODS[TestMethod.OUTFLOW_METER].gives is Gives.RELATIVE
    assert all(facts.source.citation and facts.source.note for facts in methods.METHODS.values())


@given(
    area=POSITIVE,
    contact=POSITIVE,
    thickness=POSITIVE,
    time=POSITIVE,
    low=POSITIVE,
    ratio=st.floats(1.01, 50),
)
def test_a_falling_head_in_two_steps_gives_the_conductivity_of_one(
    area, contact, thickness, time, low, ratio
):
    """The head falls exponentially, so half the logarithm takes half the time."""
    whole = methods.falling_head_rate(area, contact, thickness, time, low * ratio, low)
    half = methods.falling_head_rate(area, contact, thickness, time / 2, low * ratio, low * ratio**0.5)

    assert half.rate_mm_h == pytest.approx(whole.rate_mm_h, rel=1e-6)


def test_a_square_ring_with_another_drop_is_marked():
    assert methods.square_ring_rate(20, 95).deviations == ()
    assert [d.key for d in methods.square_ring_rate(25, 95).deviations] == ["square_ring_drop"]


@pytest.mark.parametrize(("drop_mm", "marked"), [(19.5, False), (20.5, False), (19.49, True), (20.51, True)])
def test_a_drop_of_twenty_millimetres_is_read_to_half_a_millimetre(drop_mm, marked):
    """A drop marked in inches, 0.79 in, is 20.07 mm."""
    assert bool(methods.square_ring_rate(drop_mm, 95).deviations) == marked


def test_fewer_than_three_floodings_are_marked():
    run = FloodRun(90, 60, 720)

    assert methods.flooding_rate([run] * 3).deviations == ()
    (deviation,) = methods.flooding_rate([run, FloodRun(90, 75, 720)]).deviations
    assert deviation.message.startswith("2 floodings were run; at least 3 are averaged. Run 2 more")


def test_floodings_before_the_build_up_is_saturated_do_not_enter_the_mean():
    """Saturated and unsaturated rates differ by up to 300 % (Boogaard & Lucke 2019, Water 11(2):320, looked up)."""
    unsaturated, saturated = FloodRun(90, 60, 240), FloodRun(90, 60, 720)

    measured = methods.flooding_rate([unsaturated, *[saturated] * 3])

    assert measured.rate_mm_h == pytest.approx(150)
    assert measured.deviations == ()


def test_floodings_whose_rate_still_falls_bound_it_and_ask_for_more():
    runs = [FloodRun(90, 60, time) for time in (240, 400, 600, 720)]

    measured = methods.flooding_rate(runs)

    assert measured.rate_mm_h == pytest.approx((180 + 150) / 2)
    (deviation,) = measured.deviations
    assert (deviation.key, deviation.effect) == ("not_levelled_off", Effect.BOUNDS)
    assert "Of 4 floodings only the last 2 agree" in deviation.message
    assert "Run 1 more, until 3 agree" in deviation.message


def test_a_frame_spreads_its_volume_over_its_area():
    measured = methods.frame_rate(volume_l=18, length_mm=600, width_mm=600, elapsed_s=180)

    assert measured.rate_mm_h == pytest.approx(1000)


def test_floodings_are_averaged_by_their_rates_and_not_by_their_times():
    """30 mm in 600 s and in 720 s are 180 and 150 mm/h, 165 in the mean."""
    runs = [FloodRun(90, 60, 600), FloodRun(90, 60, 720)]

    assert methods.flooding_rate(runs).rate_mm_h == pytest.approx(165)


@pytest.mark.parametrize("method", TestMethod)
def test_a_range_of_the_ring_is_known_of_the_falling_head_alone(method):
    """Li, Kayhanian & Harvey 2013: the ring reads 50 to 90 % less (looked up)."""
    found = methods.ring_range_mm_h(method, 1000.0)

    assert found == (pytest.approx((100, 500)) if method is TestMethod.FALLING_HEAD else None)


def test_the_second_published_ratio_is_that_of_its_source():
    """Chen et al. 2019, Water 11(3):444: falling over constant head 4.08 to 6.36 (looked up)."""
    found = methods.falling_head_by_ratio(10_000)

    assert found.low_mm_h == pytest.approx(1572.33, rel=1e-5)
    assert found.high_mm_h == pytest.approx(2450.98, rel=1e-5)
    assert found.middle_mm_h == pytest.approx((found.low_mm_h * found.high_mm_h) ** 0.5)
    assert found.source.status is SourceStatus.LOOKED_UP


def test_each_result_is_named_by_the_method_that_gave_it():
    floods = [FloodRun(90, 60, 720)] * 3

    assert methods.square_ring_rate(20, 95).method is TestMethod.SQUARE_DOUBLE_RING
    assert methods.square_ring_rate(25, 95).method is TestMethod.SQUARE_DOUBLE_RING
    assert methods.flooding_rate(floods).method is TestMethod.FLOODING
    assert methods.flooding_rate(floods[:1]).method is TestMethod.FLOODING
    assert methods.frame_rate(5, 300, 300, 60).method is TestMethod.FRAME
    assert methods.falling_head_rate(1, 1, 100, 20, 300, 200).method is TestMethod.FALLING_HEAD


@pytest.mark.parametrize(
    ("rates", "count"),
    [
        ([], 0),
        ([100.0], 1),
        ([500.0, 100.0], 1),
        ([100.0, 100.0, 100.0], 3),
        ([500.0, 110.0, 100.0, 105.0], 3),
        ([100.0, 500.0, 110.0, 100.0], 2),  # what agreed before the rate fell is not looked at again
    ],
)
def test_floodings_count_back_from_the_last_while_they_agree(rates, count):
    assert methods.levelled_off(rates) == count


@given(rates=st.lists(st.floats(1.0, 1e5), min_size=1, max_size=8))
def test_the_last_floodings_that_count_lie_within_the_factor_and_one_more_would_not(rates):
    count = methods.levelled_off(rates)

    def agree(last):
        return max(last) <= methods.LEVEL_WITHIN * min(last) * (1 + 1e-9)

    assert agree(rates[-count:])
    assert count == len(rates) or not max(rates[-count - 1 :]) < methods.LEVEL_WITHIN * min(
        rates[-count - 1 :]
    )


def test_a_converted_rate_is_a_marked_range():
    converted = methods.to_ring_test(MethodRate(TestMethod.FALLING_HEAD, 1000))

    assert converted.converted
    assert converted.low_mm_h < converted.middle_mm_h < converted.high_mm_h


def test_a_frame_counts_as_a_ring_only_up_to_its_published_bound():
    converted = methods.to_ring_test(MethodRate(TestMethod.FRAME, 15_000))

    assert (converted.low_mm_h, converted.middle_mm_h, converted.high_mm_h) == (None, 15_000, None)
    with pytest.raises(UnusableRecordError, match="no published relation between the simple wooden frame"):
        methods.to_ring_test(MethodRate(TestMethod.FRAME, 15_001))


@pytest.mark.parametrize(
    "method", [TestMethod.FLOODING, TestMethod.SQUARE_DOUBLE_RING, TestMethod.OUTFLOW_METER]
)
def test_methods_without_a_published_relation_are_not_converted(method):
    with pytest.raises(UnusableRecordError, match="There is no published relation"):
        methods.to_ring_test(MethodRate(method, 500))


def test_the_second_published_ratio_lies_within_the_first_range():
    first = methods.to_ring_test(MethodRate(TestMethod.FALLING_HEAD, 10_000))
    second = methods.falling_head_by_ratio(10_000)

    assert first.low_mm_h < second.low_mm_h < second.middle_mm_h < second.high_mm_h < first.high_mm_h


def test_screening_compares_with_the_same_spot_and_gives_no_rate():
    first = methods.screen_by_spread(6, 0.6, None)
    later = methods.screen_by_spread(6, 1.2, first.area_m2_per_l)

    assert (first.times_reference, first.area_m2_per_l) == (None, pytest.approx(0.1))
    assert first.advice.endswith("Keep this one as its reference.")
    assert later.times_reference == pytest.approx(2)
    assert later.advice.endswith("Test this spot with the ring.")
    assert not hasattr(later, "rate_mm_h")


@pytest.mark.parametrize(("wetted_m2", "asks"), [(1.49, False), (1.5, True), (1.51, True)])
def test_half_as_far_again_asks_for_a_ring_test(wetted_m2, asks):
    """Own default."""
    assert ("Test this spot with the ring." in methods.screen_by_spread(10, wetted_m2, 0.1).advice) == asks


def test_the_outflow_meter_leaves_out_its_own_time():
    assert methods.outflow_conductivity_per_s(25, 5) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: methods.drop_rate_mm_h(0, 60), "Drop of the water level must be more than 0 mm, got 0"),
        (
            lambda: methods.falling_head_rate(1, 1, 100, 20, 200, 300),
            "The head must fall, but went from 200 to 300",
        ),
        (lambda: methods.drop_rate_mm_h(20, 0), "Elapsed time must be more than 0 s, got 0"),
        (lambda: methods.falling_head_rate(0, 1, 100, 20, 300, 200), "Standpipe area must be more than 0"),
        (lambda: methods.falling_head_rate(1, 0, 100, 20, 300, 200), "Contact area must be more than 0"),
        (lambda: methods.falling_head_rate(1, 1, 0, 20, 300, 200), "Layer thickness must be more than 0 mm"),
        (lambda: methods.falling_head_rate(1, 1, 100, 0, 300, 200), "Elapsed time must be more than 0 s"),
        (lambda: methods.falling_head_rate(1, 1, 100, 20, 200, 200), "The head must fall"),
        (lambda: methods.frame_rate(0, 600, 600, 60), "Volume of water must be more than 0 L"),
        (lambda: methods.frame_rate(18, 0, 600, 60), "Inside length must be more than 0 mm"),
        (lambda: methods.frame_rate(18, 600, 0, 60), "Inside width must be more than 0 mm"),
        (lambda: methods.frame_rate(18, 600, 600, 0), "Elapsed time must be more than 0 s"),
        (lambda: methods.screen_by_spread(6, 0, None), "Wetted area must be more than 0 m²"),
        (lambda: methods.screen_by_spread(6, 1, 0), "Reference spread must be more than 0"),
        (lambda: methods.outflow_conductivity_per_s(0, 0), "Outflow time must be more than 0 s"),
        (lambda: methods.outflow_conductivity_per_s(5, -1), "Outlet-only time must be 0 s or more"),
        (lambda: methods.falling_head_by_ratio(0), "Rate must be more than 0 mm/h"),
        (lambda: methods.falling_head_rate(1, 1, 100, 20, 200, 0), "Head at the end must be more than 0 mm"),
        (lambda: methods.flooding_rate([]), "needs at least 1 run, got 0"),
        (
            lambda: methods.flooding_rate([FloodRun(60, 90, 10)]),
            "Drop of the water level must be more than 0",
        ),
        (lambda: methods.outflow_conductivity_per_s(5, 5), "must exceed the device's own 5 s"),
        (lambda: methods.screen_by_spread(0, 1, None), "Volume of water must be more than 0 L"),
    ],
)
def test_impossible_readings_are_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()
