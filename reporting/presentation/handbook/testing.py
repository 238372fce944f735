"""Testing a surface: the ring test step by step, other methods, deviations."""

from collections.abc import Iterable

from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc import counts, ring, validity
from qa.calc.effects import CONSEQUENCES, Effect
from qa.calc.methods import METHODS, WITHOUT_RATE
from qa.presentation import disclaimers
from reporting.presentation.handbook.blocks import Block, Chapter, caution, points, steps, table, text, title

_AREAS = {UnitSystem.SI: (2_500, 3_500, 6_000, 10_000), UnitSystem.US: (25_000, 35_000, 60_000, 100_000)}
_AREA_UNIT = {UnitSystem.SI: "m²", UnitSystem.US: "ft²"}
_SPACING_UNIT = {UnitSystem.SI: "m", UnitSystem.US: "ft"}


def testing(system: UnitSystem) -> Chapter:
    """How a test is taken and what it is worth."""
    return Chapter(
        "testing",
        "Testing",
        (
            text(
                "A round is all tests of one surface on one day. Choose its purpose, answer for the weather, and "
                "take the tests spot by spot; the phone keeps the time and works out the rate. The field sheet does "
                "the same on paper, with a code at each spot that opens its form."
            ),
            title("Before you begin"),
            points(*_before(system)),
            caution(
                f"{disclaimers.DUST_AND_TRAFFIC} Close off the spots before kneeling on a lane. Do not test ice, or "
                "over contaminated ground. Lift buckets with two people."
            ),
            title("The ring test, step by step"),
            steps(*_ring_steps(system)),
            text(
                f"Constants, masses and tolerances after {ring.RING_TEST_DOCUMENT}: hold them against the edition "
                "that the job names before you rely on them. Readings stay in the units they were taken in."
            ),
            *_spots(system),
            title("What a deviation does"),
            text(
                "A test that was not taken quite as asked is kept, the deviation named with its source. Three things "
                "can become of it:"
            ),
            points(
                ("It does not count", f"where {_named(Effect.VOIDS)}."),
                ("It counts as “at most this”", f"where {_named(Effect.BOUNDS)}."),
                ("It counts, with a note", f"where {_named(Effect.NOTE)}."),
            ),
            title("Other methods"),
            text(
                "They are recorded beside the ring and never pooled with it. What a ring might have read is shown "
                "where a published relation exists, marked as converted."
            ),
            table(("Method", "What to mind"), _others(), "Methods other than the ring"),
        ),
    )


def _before(system: UnitSystem) -> Iterable[tuple[str, str]]:
    p = ring.PROCEDURES[system]
    return (
        ("Weather:", f"no rain for {validity.RAIN_FREE_H:g} hours, no standing water, no frost."),
        (
            "Take along:",
            f"ring of {p.diameter_nominal:g} {p.length_unit} inside, marked at {p.head_low:g} and {p.head_high:g} "
            f"{p.length_unit}; putty or clay; scales; stopwatch or phone; broom; up to "
            f"{p.small_mass + p.large_mass:g} {p.mass_unit} of water a spot.",
        ),
        ("Where:", "at the fixed spots of the plan, so that the same places are compared over the years."),
    )


def _ring_steps(system: UnitSystem) -> Iterable[tuple[str, str]]:
    p = ring.PROCEDURES[system]
    heads = f"between the lines at {p.head_low:g} and {p.head_high:g} {p.length_unit}"
    small, large = (f"{mass:g} {p.mass_unit}" for mass in (p.small_mass, p.large_mass))
    return (
        ("Sweep the spot and set the ring.", "Measure its inside diameter; the rate goes by its square."),
        (
            "Seal it.",
            "On unit pavers press the seal down into every joint under the ring. Watch for leaks all through.",
        ),
        (
            "Prewet.",
            f"Pour {small} at a rate that keeps the head {heads}, and time it from the first contact until no water "
            "stands.",
        ),
        (
            "Choose the mass.",
            f"Under {ring.PREWET_SWITCH_S:g} s: {large}. {ring.PREWET_SWITCH_S:g} s or more: {small}. Weigh it.",
        ),
        (
            "Test.",
            f"Begin within {ring.LONGEST_START_DELAY_S / 60:g} minutes of prewetting. Keep the head {heads}. Stop the "
            "watch when no free water is left.",
        ),
        (
            "Will it not drain?",
            "Stop when the time shows that it is below the limit, and record “still ponded”: the rate is below what "
            "was read. If the head cannot be held, record that instead.",
        ),
        (
            "Repeat.",
            f"A second test within {ring.LONGEST_REPEAT_GAP_MIN:g} minutes needs no new prewetting; the mean of both "
            f"counts. At most {ring.MOST_TESTS_PER_SPOT_AND_DAY} at a spot in a day.",
        ),
        ("Photograph", "the spot with the ring, and say what you saw. Take the seal off the joints."),
    )


def _spots(system: UnitSystem) -> Iterable[Block]:
    unit, spacing = _AREA_UNIT[system], f"{counts.MINIMUM_SPACING[system]:g} {_SPACING_UNIT[system]}"
    rows = tuple(
        (f"up to {area:,} {unit}", str(counts.locations_needed(area, system))) for area in _AREAS[system]
    )
    return (
        title("How many spots"),
        text(
            f"At least {spacing} apart. A third of them lie in the edge strip beside what drains onto the surface, "
            "since clogging begins there, one in six at the low spot, the rest inside. The plan of the surface draws "
            "them by a random seed, so that anybody can draw the same ones again."
        ),
        table(("Area", "Spots, at least"), rows, "Spots asked by area"),
    )


def _named(effect: Effect) -> str:
    found = dict.fromkeys(each.in_short for each in CONSEQUENCES.values() if each.effect is effect)
    return "; ".join(found)


def _others() -> tuple[tuple[str, str], ...]:
    return tuple(
        (method.label + (" (no rate)" if method in WITHOUT_RATE else ""), facts.caution)
        for method, facts in METHODS.items()
        if method is not TestMethod.RING
    )
