import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc.limits import (
    PRESETS,
    Agreed,
    LimitKind,
    governing_limit,
    is_below,
    limit_from_design_rain,
)
from qa.calc.sources import SourceStatus


def test_every_preset_has_a_figure_a_source_and_a_status():
    for preset in PRESETS.values():
        assert preset.acceptance_mm_h or preset.working_limit_mm_h
        assert preset.source.status in (SourceStatus.LOOKED_UP, SourceStatus.FROM_MEMORY)
        assert "verify against the current edition" in preset.source.note


def test_a_rate_equal_to_the_limit_is_not_below_it_even_after_conversion():
    assert not is_below(10 * 25.4, PRESETS["minnesota"].working_limit_mm_h)
    assert not is_below(0.5 * 1000 / 24, PRESETS["netherlands"].limit_mm_h)


def test_the_highest_limit_governs_and_the_others_are_named():
    rain = limit_from_design_rain(100, 1)

    found = governing_limit(PRESETS["ontario"], rain, agreed=Agreed(150))

    assert (found.limit_mm_h, found.kind) == (250, LimitKind.PRESET)
    assert "the design rain (100 mm/h, times 1 + 1 for run-on) asks 200 mm/h" in found.reason
    assert "the agreement with the owner asks 150 mm/h" in found.reason


def test_a_design_rain_above_the_preset_governs():
    assert governing_limit(PRESETS["ontario"], limit_from_design_rain(200, 1)).kind is LimitKind.DESIGN_RAIN


def test_an_agreed_limit_stands_alone_where_nothing_else_is_known():
    assert governing_limit(agreed=Agreed(300)).reason == "300 mm/h, from the agreement with the owner."


def test_a_preset_without_a_working_limit_needs_another_one():
    with pytest.raises(UnusableRecordError, match="No limit is known"):
        governing_limit(PRESETS["brazil"])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: limit_from_design_rain(0, 1), "Rain intensity must be more than 0 mm/h"),
        (lambda: limit_from_design_rain(100, -1), "Run-on ratio must be 0"),
        (lambda: limit_from_design_rain(100, 1, 10), "clogging share must be above 0 and at most 1, got 10"),
        (lambda: governing_limit(agreed=Agreed(0)), "Agreed limit must be more than 0 mm/h"),
    ],
)
def test_impossible_input_is_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()


@given(
    st.sampled_from([preset for preset in PRESETS.values() if preset.working_limit_mm_h]),
    st.floats(0.1, 1000),
    st.floats(0, 10),
    st.floats(0.1, 1e5),
)
def test_the_governing_limit_is_never_below_any_that_is_asked(preset, intensity, run_on, agreed):
    rain = limit_from_design_rain(intensity, run_on)

    found = governing_limit(preset, rain, Agreed(agreed), own=PRESETS["ontario"])

    asked = [preset.working_limit_mm_h, rain.in_service_mm_h, agreed, 250.0]
    assert found.limit_mm_h == max(asked)
    assert sorted(one.rate_mm_h for one in found.asked) == sorted(asked)


@given(st.floats(0.1, 1000), st.floats(0, 5), st.floats(0, 5), st.floats(0.01, 1))
def test_more_run_on_never_lowers_what_a_design_rain_asks(intensity, one, other, share):
    less, more = sorted((one, other))

    low, high = (limit_from_design_rain(intensity, ratio, share) for ratio in (less, more))

    assert low.in_service_mm_h <= high.in_service_mm_h
    assert high.when_new_mm_h >= high.in_service_mm_h
