"""What a handover record says of a surface at the top, in both systems, and how its checks stand in short."""

from types import SimpleNamespace

import pytest

from accounts.calc.audience import Audience
from reporting.selectors.handovers import checks_in_short, handover_snapshot

ALWAYS = ["Area", "Open to traffic since", "Traffic", "Drains onto it"]


def facts_of(surface, **changes):
    """By name, in both systems, with plain blanks."""
    type(surface).objects.filter(pk=surface.pk).update(**changes)
    surface.refresh_from_db()
    facts = handover_snapshot(surface, Audience.OWNER).facts
    return {one.name: tuple(" ".join(text.split()) for text in (one.value.si, one.value.us)) for one in facts}


def test_what_was_not_recorded_is_not_told(firm):
    assert list(facts_of(firm.surface)) == ALWAYS


@pytest.mark.parametrize(
    ("changes", "name", "si", "us"),
    [
        ({"area_m2": 1000.0}, "Area", "1000 m²", "10 800 ft²"),
        (
            {"run_on_area_m2": 200.0, "run_on_from": "roofs"},
            "Drains onto it",
            "200 m² of roofs",
            "2150 ft² of roofs",
        ),
        ({"run_on_area_m2": 200.0}, "Drains onto it", "200 m²", "2150 ft²"),
        ({}, "Drains onto it", "none", "none"),
        ({"joint_width_mm": 12.7}, "Joint width", "12.7 mm", "1/2 in"),
        ({"overflow_invert_mm": 152.4}, "Overflow", "152 mm above the subgrade", "6 in above the subgrade"),
        ({"overflow_invert_mm": 0.0}, "Overflow", "0 mm above the subgrade", "0 in above the subgrade"),
        ({"soil_rate_mm_h": 25.4}, "Design rate of the soil", "25.4 mm/h", "1 in/h"),
        ({"reuse_store_m3": 10.0}, "Reuse store", "10 m³", "353 ft³"),
        (
            {"soil_measured_mm_h": 50.8, "soil_safety_factor": 2.5, "soil_rate_mm_h": 20.32},
            "Measured rate of the soil",
            "50.8 mm/h, over a safety factor of 2.5",
            "2 in/h, over a safety factor of 2.5",
        ),
    ],
)
def test_each_fact_stands_in_both_systems(firm, changes, name, si, us):
    assert facts_of(firm.surface, **changes)[name] == (si, us)


def test_a_measured_rate_without_its_factor_is_not_told_as_if_it_were_designed_with(firm):
    assert "Measured rate of the soil" not in facts_of(firm.surface, soil_measured_mm_h=50.0)


def state(total=10, settled=10, failed=0, waived=0):
    rows = [None] * 10
    return SimpleNamespace(
        checks=rows[:total],
        settled=settled,
        complete=settled == total,
        failed=rows[:failed],
        waived=rows[:waived],
    )


@pytest.mark.parametrize(
    ("stands", "words"),
    [
        (None, "No construction record was kept."),
        (state(), "All 10 checks are done."),
        (state(settled=7), "7 of 10 checks are done."),
        (state(settled=9, failed=1), "9 of 10 checks are done. 1 failed and is not corrected yet."),
        (state(settled=7, failed=3), "7 of 10 checks are done. 3 failed and are not corrected yet."),
        (state(waived=1), "All 10 checks are done. 1 is waived."),
        (
            state(settled=8, failed=2, waived=2),
            "8 of 10 checks are done. 2 failed and are not corrected yet. 2 are waived.",
        ),
    ],
)
def test_how_the_checks_stand_is_said_in_short(stands, words):
    assert checks_in_short(stands) == words
