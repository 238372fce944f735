"""Testing a surface: the ring test step by step, other methods, deviations."""

from collections.abc import Iterable

from core.calc.format import fixed
from core.calc.marks import marked
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import pgettext
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
        _("Testing"),
        (
            text(
                _(
                    "A round is all tests of one surface on one day. Choose its purpose, answer for the weather, and "
                    "take the tests spot by spot; the phone keeps the time and works out the rate. The field sheet "
                    "does the same on paper, with a code at each spot that opens its form."
                )
            ),
            title(_("Before you begin")),
            points(*_before(system)),
            caution(
                _(disclaimers.DUST_AND_TRAFFIC),
                _(
                    "Close off the spots before kneeling on a lane. Do not test ice, or over contaminated ground. Lift "
                    "buckets with two people."
                ),
            ),
            title(_("The ring test, step by step")),
            steps(*_ring_steps(system)),
            text(
                _(
                    "Constants, masses and tolerances after {document}: hold them against the edition that the job "
                    "names before you rely on them. Readings stay in the units they were taken in."
                ).format(document=ring.RING_TEST_DOCUMENT)
            ),
            *_spots(system),
            title(_("What a deviation does")),
            text(
                _(
                    "A test that was not taken quite as asked is kept, the deviation named with its source. Three "
                    "things can become of it:"
                )
            ),
            _what_becomes_of_it(),
            title(_("Other methods")),
            text(
                _(
                    "They are recorded beside the ring and never pooled with it. What a ring might have read is shown "
                    "where a published relation exists, marked as converted."
                )
            ),
            table((_("Method"), _("What to mind")), _others(), _("Methods other than the ring")),
        ),
    )


def _what_becomes_of_it() -> Block:
    """What a deviation does to a result."""
    return points(
        (_("It does not count"), _("where {deviations}.").format(deviations=_named(Effect.VOIDS))),
        (
            _("It counts as “at most this”"),
            _("where {deviations}.").format(deviations=_named(Effect.BOUNDS)),
        ),
        (
            _("It counts, with a note"),
            _("where {deviations}.").format(deviations=_named(Effect.NOTE)),
        ),
    )


def _before(system: UnitSystem) -> Iterable[tuple[str, str]]:
    p = ring.PROCEDURES[system]
    return (
        (
            _("Weather:"),
            _("no rain for {hours} hours, no standing water, no frost.").format(
                hours=_number(validity.RAIN_FREE_H)
            ),
        ),
        (
            _("Take along:"),
            _(
                "ring of {diameter} {length_unit} inside, marked at {low} and {high} {length_unit}; putty or clay; "
                "scales; stopwatch or phone; broom; up to {mass} {mass_unit} of water a spot."
            ).format(
                diameter=_number(p.diameter_nominal),
                length_unit=p.length_unit,
                low=_number(p.head_low),
                high=_number(p.head_high),
                mass=_number(p.small_mass + p.large_mass),
                mass_unit=p.mass_unit,
            ),
        ),
        (
            _("Where:"),
            _("at the fixed spots of the plan, so that the same places are compared over the years."),
        ),
    )


def _ring_steps(system: UnitSystem) -> Iterable[tuple[str, str]]:
    p = ring.PROCEDURES[system]
    heads = {"low": _number(p.head_low), "high": _number(p.head_high), "unit": p.length_unit}
    small, large = (f"{_number(mass)} {p.mass_unit}" for mass in (p.small_mass, p.large_mass))
    switch = _number(ring.PREWET_SWITCH_S)
    return (
        (
            _("Sweep the spot and set the ring."),
            _("Measure its inside diameter; the rate goes by its square."),
        ),
        (
            _("Seal it."),
            _(
                "On unit pavers press the seal down into every joint under the ring. Watch for leaks all through."
            ),
        ),
        (
            _("Prewet."),
            _(
                "Pour {mass} at a rate that keeps the head between the lines at {low} and {high} {unit}, and time it "
                "from the first contact until no water stands."
            ).format(mass=small, **heads),
        ),
        (
            _("Choose the mass."),
            _("Under {switch} s: {large}. {switch} s or more: {small}. Weigh it.").format(
                switch=switch, large=large, small=small
            ),
        ),
        (
            _("Test."),
            _(
                "Begin within {minutes} minutes of prewetting. Keep the head between the lines at {low} and {high} "
                "{unit}. Stop the watch when no free water is left."
            ).format(minutes=_number(ring.LONGEST_START_DELAY_S / 60), **heads),
        ),
        *_end_of_a_test(),
    )


def _end_of_a_test() -> Iterable[tuple[str, str]]:
    return (
        (
            _("Will it not drain?"),
            _(
                "Stop when the time shows that it is below the limit, and record “still ponded”: the rate is below "
                "what was read. If the head cannot be held, record that instead."
            ),
        ),
        (
            _("Repeat."),
            _(
                "A second test within {minutes} minutes needs no new prewetting; the mean of both counts. At most "
                "{most} at a spot in a day."
            ).format(minutes=_number(ring.LONGEST_REPEAT_GAP_MIN), most=ring.MOST_TESTS_PER_SPOT_AND_DAY),
        ),
        (
            pgettext("what to do", "Photograph"),
            _("the spot with the ring, and say what you saw. Take the seal off the joints."),
        ),
    )


def _spots(system: UnitSystem) -> Iterable[Block]:
    spacing = f"{_number(counts.MINIMUM_SPACING[system])} {_SPACING_UNIT[system]}"
    rows = tuple(
        (_up_to(area, system), str(counts.locations_needed(area, system))) for area in _AREAS[system]
    )
    return (
        title(_("How many spots")),
        text(
            _(
                "At least {spacing} apart. A third of them lie in the edge strip beside what drains onto the surface, "
                "since clogging begins there, one in six at the low spot, the rest inside. The plan of the surface "
                "draws them by a random seed, so that anybody can draw the same ones again."
            ).format(spacing=spacing)
        ),
        table((_("Area"), _("Spots, at least")), rows, _("Spots asked by area")),
    )


def _up_to(area: int, system: UnitSystem) -> str:
    shown = f"{fixed(area, 0, parted=True)} {_AREA_UNIT[system]}"
    return _("up to {area}").format(area=shown)


def _number(value: float) -> str:
    """A number as the method writes it, without decimals that say nothing."""
    return marked(f"{value:g}")


def _named(effect: Effect) -> str:
    found = dict.fromkeys(_(each.in_short) for each in CONSEQUENCES.values() if each.effect is effect)
    return "; ".join(found)


def _others() -> tuple[tuple[str, str], ...]:
    return tuple(
        (
            _("{method} (no rate)").format(method=method.label) if method in WITHOUT_RATE else method.label,
            _(facts.caution),
        )
        for method, facts in METHODS.items()
        if method is not TestMethod.RING
    )
