"""Figures worked through with their own numbers, so that anybody can follow or check them by hand."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.calc.format import figure
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display
from qa.calc.ring import PROCEDURES, RING_TEST_DOCUMENT
from qa.calc.rounds import Rate
from qa.calc.rounds import geometric_mean as mean_of
from qa.models import InfiltrationTest

CHECK_IT = f"{RING_TEST_DOCUMENT}; hold the constant against the edition that the job names"
MOST_NAMED = 12  # rates in one line; more nobody reads


@dataclass(frozen=True, slots=True)
class Worked:
    """A formula, the same with its numbers, and where it comes from."""

    formula: str
    with_numbers: str
    words: str
    source: str


def worked_ring(test: InfiltrationTest) -> Worked | None:
    """How the rate of a ring test was worked out; None for other methods, and where no time was taken."""
    if not test.is_ring or not test.elapsed_s or test.test_mass is None or test.ring_diameter is None:
        return None
    its = PROCEDURES[UnitSystem(test.unit_system)]
    rate = its.constant * test.test_mass / (test.ring_diameter**2 * test.elapsed_s)
    numbers = (
        f"I = {figure(its.constant)} · {figure(test.test_mass)} {its.mass_unit} / "
        f"(({figure(test.ring_diameter)} {its.length_unit})² · {figure(test.elapsed_s)} s) "
        f"= {rounded_for_reading(rate)} {its.rate_unit}"
    )
    words = (
        "K the constant of the unit system, M the mass of water, D the inside diameter of the ring, t the time until "
        "no water stood. It is worked out in the units of the readings."
    )
    return Worked("I = K · M / (D² · t)", numbers, words, CHECK_IT)


def worked_mean(rates: Sequence[Rate], units: str) -> Worked | None:
    """How the geometric mean of some spots was worked out; None where there is only one."""
    if len(rates) < 2:
        return None
    system = UnitSystem(units)
    shown = [to_display(one.rate_mm_h, Quantity.RATE, system) for one in rates]
    mean = to_display(mean_of(rates).rate_mm_h, Quantity.RATE, system)
    named = [f"ln {rounded_for_reading(one.value)}" for one in shown[:MOST_NAMED]] + (
        ["…"] if len(shown) > MOST_NAMED else []
    )
    numbers = f"G = exp(({' + '.join(named)}) / {len(shown)}) = {mean}"
    words = "r the rate of each spot, n their number. A test that is only a bound enters at its bound."
    return Worked("G = exp((ln r₁ + … + ln rₙ) / n)", numbers, words, "arithmetic")
