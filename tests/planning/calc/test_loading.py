"""What a crew takes along, and in which order it goes where no plan says."""

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Action
from planning.calc.loading import EQUIPMENT, MACHINES, equipment_for, water_for
from planning.calc.stop_order import nearest_next


def test_every_kind_of_work_has_its_equipment():
    by_hand = {action for action in Action if not action.cleans}

    assert set(EQUIPMENT) == by_hand
    assert set(MACHINES) == set(CleaningMethod)


def test_each_thing_is_named_once_and_protection_always():
    found = equipment_for([("test", ""), ("test", ""), ("clean", "vacuum"), ("inspect", "")])

    assert len(set(found)) == len(found)
    assert {"Stopwatch", "Vacuum sweeper", "Camera"} < set(found)
    assert found[-1].startswith("Eye and hearing protection")


def test_nothing_to_do_needs_nothing():
    assert equipment_for([]) == ()


def test_water_for_three_spots_is_three_times_the_masses_of_the_standard():
    """3.60 kg to wet a spot, then 3.60 or 18.00 kg for its test (ASTM C1701/C1701M, from memory)."""
    water = water_for(3)

    assert water.least_kg == pytest.approx(3 * 7.2)
    assert water.most_kg == pytest.approx(3 * 21.6)


def test_the_nearest_comes_next_from_the_depot_on():
    places = [(50.3, 10.0), (50.1, 10.0), (50.2, 10.0)]

    assert nearest_next((50.0, 10.0), places) == [1, 2, 0]
    assert nearest_next((50.4, 10.0), places) == [0, 2, 1]


def test_what_has_no_position_comes_last_as_it_was_given():
    assert nearest_next(None, [None, (50.0, 10.0), None]) == [1, 0, 2]
    assert nearest_next((50.0, 10.0), []) == []
