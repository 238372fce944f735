from math import inf

import pytest
from django.urls import reverse

from qa.forms.water import RainForm
from qa.presentation.charts import fate_figure, store_figure
from qa.selectors.water import RainAsked, surface_water
from tests.factories import InfiltrationTestFactory, LayerFactory, RoundFactory, SurfaceFactory
from tests.pages import as_shown

pytestmark = pytest.mark.django_db

RAIN = RainAsked(rain_mm=50, duration_h=2, peak_factor=1, drain_h=72)


def built(**fields):
    """A surface with 40 mm bedding and 300 mm base, both of porosity 0.40."""
    surface = SurfaceFactory(**{"soil_rate_mm_h": 10.0, **fields})
    LayerFactory(surface=surface, kind="surface_course", position=1, thickness_mm=80, porosity=None)
    LayerFactory(surface=surface, kind="joint_fill", position=2, thickness_mm=75, porosity=0.38)
    LayerFactory(surface=surface, kind="bedding", position=3, thickness_mm=40)
    LayerFactory(surface=surface, kind="base", position=4, thickness_mm=300)
    return surface


def names(water):
    return [missing.what for missing in water.missing]


def test_stone_stores_and_joints_do_not():
    store = surface_water(built(), RAIN, "si").store

    assert [row.holds_mm for row in store.layers] == pytest.approx([16, 120])
    assert (store.full_mm, store.drain_h) == pytest.approx((136, 13.6))


def test_only_what_lies_below_the_overflow_is_stored():
    store = surface_water(built(overflow_invert_mm=150), RAIN, "si").store

    assert (store.below_mm, store.height_mm) == pytest.approx((60, 150))


def test_the_fall_of_the_subgrade_takes_from_the_store_but_not_from_the_drain_time():
    sloped = built(overflow_invert_mm=300, subgrade_slope_percent=1, subgrade_fall_length_m=30)

    store = surface_water(sloped, RAIN, "si").store

    assert (store.slope_share, store.below_mm, store.drain_h) == pytest.approx((0.5, 60, 12))


def test_a_porous_surface_course_stores_too():
    surface = SurfaceFactory(surface_type="pervious_concrete")
    LayerFactory(surface=surface, kind="surface_course", position=1, thickness_mm=100, porosity=0.15)
    LayerFactory(surface=surface, kind="base", position=2, thickness_mm=150)

    assert surface_water(surface, RAIN, "si").store.full_mm == pytest.approx(75)


def test_the_reuse_store_is_filled_by_what_rises_over_the_pipe():
    """50 mm in 2 h, 20 mm soak meanwhile, 12 mm stay below the pipe, 18 mm leave, of which the store takes 10 mm."""
    fate = surface_water(built(reuse_store_m3=10, overflow_invert_mm=30), RAIN, "si").cases[0].fate

    assert fate.kept_for_reuse_mm == pytest.approx(10)
    assert fate.overflowed_mm == pytest.approx(8)
    assert fate.soaked_mm == pytest.approx(32)


def test_a_reuse_store_without_a_pipe_gets_nothing_and_the_page_asks_for_the_pipe():
    water = surface_water(built(reuse_store_m3=10), RAIN, "si")

    assert water.cases[0].fate.kept_for_reuse_mm == 0
    assert "Height of the overflow or drain" in names(water)


def test_a_liner_keeps_water_in_the_stone_without_asking_for_the_soil():
    surface = built(soil_rate_mm_h=None)
    LayerFactory(surface=surface, kind="liner", position=5, thickness_mm=None, porosity=None)

    water = surface_water(surface, RAIN, "si")

    assert "Design rate of the soil" not in names(water)
    assert water.store.drain_h == inf
    assert water.cases[0].fate.held_mm == pytest.approx(50)


def test_missing_inputs_are_named_with_where_to_enter_them():
    surface = built(soil_rate_mm_h=None)
    surface.layers.filter(kind="bedding").update(porosity=None)

    water = surface_water(surface, RAIN, "si")

    assert names(water)[:2] == ["Porosity of the bedding", "Design rate of the soil"]
    assert [m.url for m in water.missing[:2]] == [
        reverse("qa:layer-edit", args=[surface.pk]),
        reverse("qa:surface-edit", args=[surface.pk]),
    ]
    assert water.cases == ()


def test_a_surface_without_stone_has_no_store():
    water = surface_water(SurfaceFactory(), RAIN, "si")

    assert water.store is None
    assert names(water)[0] == "Layers of stone"


def test_a_slow_surface_turns_the_rain_away():
    surface = built(limit_mm_h=10.0)

    fresh, at_limit = surface_water(surface, RAIN, "si").cases

    assert (fresh.name, fresh.fate.ran_off_mm) == ("Surface takes everything", 0)
    assert (at_limit.name, at_limit.fate.ran_off_mm) == ("At its limit, 10 mm/h", pytest.approx(30))


def test_the_latest_round_says_what_the_surface_takes():
    surface = built()
    for elapsed_s, day in ((600.0, "2023-06-01"), (150.0, "2024-06-01")):
        InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=day), elapsed_s=elapsed_s)

    assert surface_water(surface, RAIN, "si").cases[0].surface_rate_mm_h == pytest.approx(1222.3, rel=1e-3)


def test_warnings_name_the_rule_and_its_source():
    surface = built(
        soil_rate_mm_h=1.0,
        run_on_area_m2=3500,
        bare_soil=True,
        foundation_distance_m=2.0,
        well_distance_m=20.0,
        water_table_depth_m=0.5,
        overflow_invert_mm=500,
    )

    said = " ".join(surface_water(surface, RAIN, "si").warnings)

    for part in (
        "The stone drains in 136 h; at most 72 h (New Jersey: New Jersey Stormwater BMP Manual",
        "The run-on ratio is 3.5; at most 1 (North Carolina: 15A NCAC 02H .1055",
        "Bare soil or planting drains onto the surface",
        "2 m to the building foundation",
        "20 m to the drinking-water well; Minnesota asks at least 30.5 m",
        "0.5 m to the water table or bedrock, downwards",
        "The overflow lies 160 mm above the stone that stores water",
    ):
        assert part in said


def test_slow_soil_without_an_overflow_is_said_in_the_readers_units():
    said = " ".join(surface_water(built(soil_rate_mm_h=5.0), RAIN, "us").warnings)

    assert (
        "The soil takes 0.197 in/h and no overflow or underdrain is recorded; one is asked for below 0.6 in/h"
        in said
    )


def test_an_odd_porosity_is_said_and_not_refused():
    surface = built()
    surface.layers.filter(kind="base").update(porosity=0.55)

    water = surface_water(surface, RAIN, "si")

    assert "Base: A porosity of 0.55 is outside 0.25 to 0.48 for stone" in water.warnings[0]
    assert water.store is not None


def test_a_void_ratio_in_the_record_is_a_problem_with_its_remedy():
    surface = built()
    surface.layers.filter(kind="base").update(porosity=0.667)

    water = surface_water(surface, RAIN, "si")

    assert "not the void ratio of soil mechanics" in water.problems[0]


def test_sizing_agrees_with_the_rain_on_the_depth_it_needs():
    surface = built(run_on_area_m2=500)
    sizing = surface_water(surface, RAIN, "si").sizing
    exact = built(run_on_area_m2=500, overflow_invert_mm=sizing.depth_storm_mm)

    found = surface_water(exact, RAIN, "si")

    assert found.cases[0].fate.overflowed_mm == pytest.approx(0, abs=1e-9)
    assert found.cases[0].fate.highest_store_mm == pytest.approx(found.store.below_mm)
    assert found.sizing.footprint_m2 == pytest.approx(exact.area_m2)


def test_the_charts_tell_every_part_and_are_none_without_cases():
    water = surface_water(built(overflow_invert_mm=50), RainAsked(80, 1, 1, 48), "us")

    bars = fate_figure(water.cases, "us")["data"]

    assert sum(sum(bar["x"]) for bar in bars) == pytest.approx(2 * 80 / 25.4)
    assert fate_figure((), "si") is None
    assert store_figure(water.cases, None, "si") is None


def test_the_rain_is_read_in_the_persons_units():
    form = RainForm({"rain_mm": "2", "duration_h": "3", "peak_factor": "2", "drain_h": "48"}, units="us")

    assert form.is_valid()
    assert form.asked == RainAsked(pytest.approx(50.8), 3, 2, 48)


def test_the_page_answers_the_rain_in_words_and_carries_the_traps(client, firm):
    surface = built(site=firm.site, overflow_invert_mm=50, name="Apron")
    client.force_login(firm.owner_person)
    url = reverse("qa:water-detail", args=[surface.pk])

    page = as_shown(
        client.get(
            url, {"rain_mm": "60", "duration_h": "1", "peak_factor": "1", "drain_h": "48"}
        ).content.decode()
    )

    assert "60 mm of rain in 1 h brings 60 mm of water" in page
    assert "Surface takes everything: 30 mm soaks away, 30 mm leaves by the overflow." in page
    assert "375 instead of 500 m²" in page
    assert "void ratio of soil mechanics" in page


def test_a_rain_that_makes_no_sense_is_refused_and_the_example_stays(client, firm):
    surface = built(site=firm.site)
    client.force_login(firm.viewer)

    page = client.get(
        reverse("qa:water-detail", args=[surface.pk]),
        {"rain_mm": "-4", "duration_h": "1", "peak_factor": "1", "drain_h": "48"},
    ).content.decode()

    assert "too small. Give 0.1 or more." in page
    assert "50 mm of rain in 2 h" in page


def test_a_page_without_layers_says_what_to_enter(client, firm):
    client.force_login(firm.coordinator)

    page = as_shown(client.get(reverse("qa:water-detail", args=[firm.surface.pk])).content.decode())

    assert "No stone that stores water is recorded" in page
    assert reverse("qa:layer-edit", args=[firm.surface.pk]) in page


def test_the_example_is_a_round_number_in_the_persons_units(client, firm):
    surface = built(site=firm.site)
    firm.viewer.units = "us"
    firm.viewer.save(update_fields=["units"])
    client.force_login(firm.viewer)

    page = as_shown(client.get(reverse("qa:water-detail", args=[surface.pk])).content.decode())

    assert "2 in of rain in 2 h" in page
    assert 'value="2"' in page


def test_a_setback_that_asks_for_run_on_is_silent_without_it():
    without = " ".join(surface_water(built(foundation_distance_m=3.5), RAIN, "si").warnings)
    with_it = " ".join(
        surface_water(built(foundation_distance_m=3.5, run_on_area_m2=100), RAIN, "si").warnings
    )

    assert "Ontario asks at least 4 m" not in without
    assert "Ontario asks at least 4 m" in with_it
