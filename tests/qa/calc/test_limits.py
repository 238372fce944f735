import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc.limits import (
    PRESETS,
    Agreed,
    LimitKind,
    LimitPreset,
    governing_acceptance,
    governing_limit,
    is_below,
    limit_from_design_rain,
)
from qa.calc.sources import Source, SourceStatus


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


@pytest.mark.parametrize(
    ("asked", "kind"),
    [
        ({"preset": 400.0, "own": 300.0, "agreed": 200.0}, LimitKind.PRESET),
        ({"preset": 300.0, "own": 400.0, "agreed": 200.0}, LimitKind.OWN),
        ({"preset": 300.0, "own": 200.0, "agreed": 400.0}, LimitKind.AGREED),
        ({"own": 200.0}, LimitKind.OWN),
        ({"agreed": 200.0}, LimitKind.AGREED),
        ({"preset": 200.0}, LimitKind.PRESET),
        ({"rain": 500.0, "own": 400.0}, LimitKind.DESIGN_RAIN),
    ],
)
def test_whoever_asks_for_most_governs_and_is_named_by_its_kind(asked, kind):
    rules = {
        name: LimitPreset(name, Source("clause 3", SourceStatus.ENTERED), "as agreed", limit_mm_h=asked[name])
        for name in ("preset", "own")
        if name in asked
    }
    agreed = Agreed(asked["agreed"]) if "agreed" in asked else None
    rain = limit_from_design_rain(asked["rain"], 0) if "rain" in asked else None

    found = governing_limit(**rules, design_rain=rain, agreed=agreed)

    assert (found.limit_mm_h, found.kind) == (max(asked.values()), kind)
    assert [one.rate_mm_h for one in found.asked] == sorted(asked.values(), reverse=True)


def test_a_design_rain_above_the_preset_governs():
    assert governing_limit(PRESETS["ontario"], limit_from_design_rain(200, 1)).kind is LimitKind.DESIGN_RAIN


def test_the_highest_acceptance_rate_governs_and_each_rule_is_named_by_its_kind():
    own = LimitPreset(
        "Contract 7", Source("clause 3", SourceStatus.ENTERED), "2000 mm/h", acceptance_mm_h=2000.0
    )

    found = governing_acceptance(
        PRESETS["brazil"], limit_from_design_rain(100, 1), Agreed(2600, "letter"), own
    )

    assert [(one.rate_mm_h, one.kind) for one in found.asked] == [
        (3600.0, LimitKind.PRESET),
        (2600, LimitKind.AGREED),
        (2000.0, LimitKind.OWN),
        (2000.0, LimitKind.DESIGN_RAIN),
    ]
    assert (found.limit_mm_h, found.kind) == (3600.0, LimitKind.PRESET)


def test_nothing_asks_for_an_acceptance_rate_where_no_rule_gives_one():
    assert governing_acceptance(PRESETS["ontario"]) is None


def test_a_rule_for_after_cleaning_is_the_limit_where_it_gives_no_other():
    assert PRESETS["minnesota"].working_limit_mm_h == pytest.approx(254)
    assert PRESETS["netherlands"].working_limit_mm_h == PRESETS["netherlands"].limit_mm_h


def test_a_source_is_named_unless_the_reason_has_named_it():
    by_rule = governing_limit(PRESETS["ontario"])
    by_letter = governing_limit(agreed=Agreed(300, "letter of May"))

    assert by_rule.source_in_full == by_rule.source.citation
    assert "letter of May" in by_letter.reason
    assert by_letter.source_in_full == ""
    assert governing_limit(agreed=Agreed(300)).source.citation == "Agreed with the owner"


def test_the_usual_share_left_when_clogged_is_a_tenth():
    """Common in design guides (from memory): 212.4 mm/h on equal run-on ask for 4248 mm/h when new."""
    usual = limit_from_design_rain(212.4, 1)

    assert (usual.in_service_mm_h, usual.when_new_mm_h) == pytest.approx((424.8, 4248))
    assert limit_from_design_rain(100, 0, 1).when_new_mm_h == 100


def test_a_rate_a_millionth_below_the_limit_is_below_it():
    assert is_below(254 * (1 - 1e-9), 254)
    assert not is_below(254 * (1 + 1e-9), 254)


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
        (lambda: limit_from_design_rain(100, 1, 0), "clogging share must be above 0 and at most 1, got 0"),
        (lambda: limit_from_design_rain(100, 1, 1.001), "clogging share must be above 0 and at most 1"),
        (lambda: governing_acceptance(agreed=Agreed(-1)), "Agreed acceptance rate must be more than 0 mm/h"),
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
