"""What rate, limit, acceptance and forecast mean, with the figures of the invented surface."""

from core.calc.format import day, figure, format_rate, percent
from core.calc.units import UnitSystem, rounded_for_reading
from maintenance.calc.actions import LIKELY_SHARE
from qa.calc.ring import RING_TEST_DOCUMENT
from reporting.calc.handbook_example import (
    ACCEPTANCE_MM_H,
    LIMIT_MM_H,
    OPENED_ON,
    PLACES,
    Example,
    means_of,
    ring_example,
)
from reporting.presentation.handbook.blocks import Chapter, picture, points, text, title

DECLINE_CAPTION = (
    "The invented surface: its tests, the estimate from them, and the forecast if nothing is done."
)


def meaning(example: Example, system: UnitSystem) -> Chapter:
    """Rate, mean, limit and acceptance."""
    units = system.value
    reading, result = ring_example(system)
    p = reading.procedure
    arithmetic, geometric = (format_rate(mean, units) for mean in means_of(example.last_round))
    spots = "; ".join(
        f"{place}: {format_rate(rate, units)}" for place, rate in zip(PLACES, example.last_round, strict=True)
    )
    return Chapter(
        "meaning",
        "What the figures mean",
        (
            title("Rate"),
            text(
                "How fast water soaks in, as a depth in time. A ring test reads it at one spot on one day: I = K · M "
                f"/ (D² · t). With {reading.test_mass:g} {p.mass_unit} through a ring of {reading.ring_diameter:g} "
                f"{p.length_unit} in {reading.elapsed_s:g} s it is {figure(p.constant)} · {reading.test_mass:g} / "
                f"({reading.ring_diameter:g}² · {reading.elapsed_s:g}) = {rounded_for_reading(result.rate)} "
                f"{result.unit}."
            ),
            title("The mean of a round"),
            text(
                f"An invented surface of this handbook read: {spots}. Their arithmetic mean is {arithmetic}, their "
                f"geometric mean {geometric}. Acceptance goes by the arithmetic mean, as {RING_TEST_DOCUMENT} report "
                "it. Everything else goes by the geometric mean, weighed by the area of each zone: a "
                "few very fast spots do not carry it away, and the forecast is of it."
            ),
            title("Limit and acceptance"),
            points(
                (
                    "Limit:",
                    "the rate below which a surface in service must be cleaned. It comes from a document, a rule of "
                    "the firm, the design rain with its run-on, or an agreement; the highest governs, and the page "
                    f"says which. A rate equal to it meets it. Here it is {format_rate(LIMIT_MM_H, units)}.",
                ),
                (
                    "Acceptance rate:",
                    "what is asked of the surface when it is new, to leave room for clogging; here "
                    f"{format_rate(ACCEPTANCE_MM_H, units)}. With fewer valid spots than the area asks for, a round "
                    "cannot tell. A mean of bounds is a bound, and may not tell either.",
                ),
            ),
        ),
    )


def forecast(example: Example, system: UnitSystem) -> Chapter:
    """The forecast in plain words."""
    units, seen = system.value, example.seen
    now, reach = seen.rate_now_mm_h, example.record.reach
    low, middle, high = (format_rate(rate, units) for rate in (now.lo80, now.median, now.hi80))
    return Chapter(
        "forecasting",
        "The forecast in plain words",
        (
            text(
                "From a surface’s own tests and from those of similar surfaces of the firm the rate is estimated for "
                "today and for the years ahead, if nothing is done. A new firm’s forecasts begin from published "
                "figures; each test makes them more its own. No record ever crosses from one firm to another."
            ),
            picture("decline", DECLINE_CAPTION),
            text(
                f"This invented surface opened on {day(OPENED_ON)}. On {day(example.record.today)} its rate is put at "
                f"{middle}, with an 80 % range of {low} to {high}; it is expected to lose "
                f"{figure(seen.decline_percent_a_year.median)} % in the coming year, and the chance that it is below "
                f"its limit today is {percent(seen.p_below_now)}. That chance reaches one in ten on "
                f"{day(reach.below_10_on)} and {percent(LIKELY_SHARE)} on {day(reach.below_50_on)}: that day is shown "
                "as “likely to reach the limit by”."
            ),
            points(
                (
                    "A range is",
                    "where the true rate lies eight times out of ten. Few tests make it wide, new ones narrow it.",
                ),
                (
                    "A range is not",
                    "a promise, nor the difference between spots, nor what a single test will read. Two times in ten "
                    "the truth lies outside, and that is no mistake.",
                ),
                (
                    "What no range holds:",
                    "a surface that is sealed within months, as by a spill of soil. Look, and test, where something "
                    "happened.",
                ),
                (
                    "Whether to trust it:",
                    "“What your records show” under Firm holds past forecasts against the rounds that came after.",
                ),
            ),
        ),
    )
