"""Figures worked through with their own numbers, so that anybody can follow or check them by hand."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.calc.format import figure, labelled
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display, unit_of
from qa.calc.acceptance import Judgement, Verdict
from qa.calc.citing import named
from qa.calc.limits import Governing, is_below
from qa.calc.ring import PROCEDURES, RING_TEST_DOCUMENT
from qa.calc.rounds import Rate, Summary
from qa.calc.rounds import geometric_mean as mean_of
from qa.models import InfiltrationTest

CHECK_IT = gettext_noop("{document}; hold the constant against the edition that the job names")
_HELD = frozenset({Judgement.PASSES, Judgement.FAILS})
MOST_NAMED = 12  # rates in one line; more nobody reads


@dataclass(frozen=True, slots=True)
class Worked:
    """A formula, the same with its numbers, and where it comes from.

    of: what is computed, to stand in the question. then: steps that follow with numbers, one a line.
    """

    formula: str
    with_numbers: str
    words: str
    source: str
    of: str
    then: tuple[str, ...] = ()


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
    words = _(
        "K the constant of the unit system, M the mass of water, D the inside diameter of the ring, t the time until "
        "no water stood. It is worked out in the units of the readings."
    )
    source = _(CHECK_IT).format(document=RING_TEST_DOCUMENT)
    return Worked("I = K · M / (D² · t)", numbers, words, source, _("the rate"))


def worked_mean(rates: Sequence[Rate], units: str) -> Worked | None:
    """How the geometric mean of some spots was worked out; None where there is only one."""
    if len(rates) < 2:
        return None
    system = UnitSystem(units)
    shown = [to_display(one.rate_mm_h, Quantity.RATE, system) for one in rates]
    mean = to_display(mean_of(rates).rate_mm_h, Quantity.RATE, system)
    spots = [f"ln {rounded_for_reading(one.value)}" for one in shown[:MOST_NAMED]] + (
        ["…"] if len(shown) > MOST_NAMED else []
    )
    numbers = f"G = exp(({' + '.join(spots)}) / {len(shown)}) = {mean}"
    words = _("r the rate of each spot, n their number. A test that is only a bound enters at its bound.")
    return Worked(
        "G = exp((ln r₁ + … + ln rₙ) / n)", numbers, words, _("arithmetic"), _("the geometric mean")
    )


def worked_acceptance(
    rates: Sequence[Rate], mean: Summary | None, asked: Governing | None, verdict: Verdict | None, units: str
) -> Worked | None:
    """How an acceptance round was judged; None where its mean was not held against a rate.

    rates: of the valid spots; mean: their arithmetic mean, as it was judged.
    """
    if not rates or mean is None or asked is None or verdict is None or verdict.judgement not in _HELD:
        return None
    system = UnitSystem(units)
    unit = unit_of(Quantity.RATE, system)
    found, wanted = _shown(mean.rate_mm_h, system), _shown(asked.limit_mm_h, system)
    spots = [_shown(one.rate_mm_h, system) for one in rates[:MOST_NAMED]]
    if len(rates) > MOST_NAMED:
        spots.append("…")
    sign = "<" if is_below(mean.rate_mm_h, asked.limit_mm_h) else "≥"
    return Worked(
        _("mean = (r₁ + … + rₙ) / n ≥ rate asked"),
        _("mean = ({rates}) / {count} = {mean}").format(
            rates=" + ".join(spots), count=len(rates), mean=f"{found} {unit}"
        ),
        _(
            "r the rate of each valid spot, n their number. A test that is only a bound enters at its bound, and the "
            "mean is then a bound as well."
        ),
        _("{document}, mean of several locations; the rate asked: {source}").format(
            document=RING_TEST_DOCUMENT, source=named(asked.source)
        ),
        _("the verdict"),
        (labelled(f"{found} {sign} {wanted} {unit}", verdict.judgement.in_sentence),),
    )


def _shown(rate_mm_h: float, system: UnitSystem) -> str:
    return rounded_for_reading(to_display(rate_mm_h, Quantity.RATE, system).value)
