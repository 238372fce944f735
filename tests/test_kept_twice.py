"""What is written in two places, since the formulas know nothing of the database, says the same in both."""

import pytest

from accounts.models import Units
from clogging import priors
from core.calc import units
from core.calc.file_kinds import Kind
from core.models.files import StoredFile
from maintenance.calc import actions, costs, suitability, upkeep
from maintenance.models import Action, CleaningMethod
from maintenance.models.forecasts import SurfaceState
from maintenance.selectors.histories import MODEL_METHODS
from qa.calc import buildups, counts, field_tests, methods, surface_types
from qa.models import LayerKind, MethodChoice, SurfaceType, Zone
from qa.models.rounds import WITHOUT_RATE
from qa.presentation.drawing import record as drawing

SURFACE_TYPES = set(SurfaceType.values)


@pytest.mark.parametrize(
    ("choices", "formulas"),
    [
        (Units, units.UnitSystem),
        (SurfaceType, surface_types.SurfaceType),
        (LayerKind, drawing.LayerKind),
        (Zone, counts.Zone),
        (MethodChoice, methods.Method),
        (StoredFile.MediaType, Kind),
    ],
)
def test_choices_of_the_database_are_those_of_the_formulas(choices, formulas):
    assert choices.values == [one.value for one in formulas]


@pytest.mark.parametrize(
    "table", [surface_types.SURFACE_NAMES, suitability.SUITED, upkeep._BY_TYPE, priors.SURFACES]
)
def test_every_table_by_surface_type_has_each_type(table):
    assert set(table) == SURFACE_TYPES


@pytest.mark.parametrize("surface_type", sorted(SURFACE_TYPES))
def test_usual_layers_are_of_kinds_that_can_be_stored(surface_type):
    kinds = {layer.kind for layer in buildups.typical_layers(surface_type)}

    assert kinds <= set(LayerKind.values)


@pytest.mark.parametrize("table", [costs.DEFAULT_TERMS, suitability.CARE, priors.CLEANINGS])
def test_every_table_by_way_of_cleaning_has_each_way(table):
    assert set(table) == set(CleaningMethod.values)


def test_ways_of_cleaning_are_either_routine_or_restoring():
    assert [*suitability.ROUTINE, *suitability.RESTORING] == CleaningMethod.values


def test_methods_without_a_rate_are_those_whose_facts_say_so():
    without = {method for method, facts in methods.METHODS.items() if facts.gives is not methods.Gives.RATE}

    assert {method.value for method in without} == set(WITHOUT_RATE)
    assert set(methods.Method) == without | set(MODEL_METHODS)
    assert set(field_tests.FIELD_TESTS) == set(methods.Method) - {methods.Method.RING}


def test_every_action_and_state_that_is_stored_is_given_by_the_rules(words_in_actions):
    assert set(Action.values) <= words_in_actions
    assert set(SurfaceState.values) <= words_in_actions


@pytest.fixture
def words_in_actions():
    """Every constant in the code of the action rules."""
    found = set()
    for function in vars(actions).values():
        code = getattr(function, "__code__", None)
        if code is not None:
            for constant in code.co_consts:
                found |= set(constant) if isinstance(constant, tuple) else {constant}
    return found
