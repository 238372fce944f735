import pytest

from core.calc.units import UnitSystem
from exchange.calc.cells import Ways
from exchange.calc.kinds import SheetKind
from tests.exchange.sheets import example_sheets, taken_in


@pytest.mark.parametrize("system", UnitSystem)
def test_the_sample_is_taken_in_without_a_problem(firm, system):
    making = taken_in(firm, *example_sheets(system), ways=Ways(system=system))

    assert making.problems == []
    assert {kind: len(new) for kind, new in making.new.items()} == {
        SheetKind.OWNERS: 2,
        SheetKind.SITES: 2,
        SheetKind.SURFACES: 2,
        SheetKind.LAYERS: 1,
        SheetKind.LOCATIONS: 3,
        SheetKind.ROUNDS: 2,
        SheetKind.TESTS: 3,
        SheetKind.CLEANINGS: 1,
    }


def test_done_twice_it_makes_nothing_twice(firm):
    taken_in(firm, *example_sheets())

    again = taken_in(firm, *example_sheets())

    assert again.problems == []
    assert again.new == {}
    assert [n.what for n in again.notices] == []
    assert sum(again.there.values()) == 16
