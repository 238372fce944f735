"""What rate, limit, acceptance and forecast mean, with the figures of the invented surface."""

from core.calc.format import day, figure, format_rate, percent
from core.calc.marks import marked
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
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
from reporting.presentation.handbook.blocks import Block, Chapter, picture, points, text, title

DECLINE_CAPTION = gettext_noop(
    "The invented surface: its tests, the estimate from them, and the forecast if nothing is done."
)


def meaning(example: Example, system: UnitSystem) -> Chapter:
    """Rate, mean, limit and acceptance."""
    units = system.value
    reading, result = ring_example(system)
    p = reading.procedure
    arithmetic, geometric = (format_rate(mean, units) for mean in means_of(example.last_round))
    spots = "; ".join(
        _("{place}: {rate}").format(place=_(place), rate=format_rate(rate, units))
        for place, rate in zip(PLACES, example.last_round, strict=True)
    )
    return Chapter(
        "meaning",
        _("What the figures mean"),
        (
            title(_("Rate")),
            text(
                _(
                    "How fast water soaks in, as a depth in time. A ring test reads it at one spot on one day: I = K · "
                    "M / (D² · t). With {mass} {mass_unit} through a ring of {diameter} {length_unit} in {time} s it "
                    "is {constant} · {mass} / ({diameter}² · {time}) = {rate} {rate_unit}."
                ).format(
                    mass=marked(f"{reading.test_mass:g}"),
                    mass_unit=p.mass_unit,
                    diameter=marked(f"{reading.ring_diameter:g}"),
                    length_unit=p.length_unit,
                    time=marked(f"{reading.elapsed_s:g}"),
                    constant=figure(p.constant),
                    rate=rounded_for_reading(result.rate),
                    rate_unit=result.unit,
                )
            ),
            title(_("The mean of a round")),
            text(
                _(
                    "An invented surface of this handbook read: {spots}. Their arithmetic mean is {arithmetic}, their "
                    "geometric mean {geometric}. Acceptance goes by the arithmetic mean, as {document} report it. "
                    "Everything else goes by the geometric mean, weighed by the area of each zone: a few very fast "
                    "spots do not carry it away, and the forecast is of it."
                ).format(spots=spots, arithmetic=arithmetic, geometric=geometric, document=RING_TEST_DOCUMENT)
            ),
            title(_("Limit and acceptance")),
            _limits(units),
        ),
    )


def _limits(units: str) -> Block:
    """The two rates that are asked."""
    return points(
        (
            _("Limit:"),
            _(
                "the rate below which a surface in service must be cleaned. It comes from a document, a rule "
                "of the firm, the design rain with its run-on, or an agreement; the highest governs, and the "
                "page says which. A rate equal to it meets it. Here it is {limit}."
            ).format(limit=format_rate(LIMIT_MM_H, units)),
        ),
        (
            _("Acceptance rate:"),
            _(
                "what is asked of the surface when it is new, to leave room for clogging; here {rate}. With "
                "fewer valid spots than the area asks for, a round cannot tell. A mean of bounds is a bound, "
                "and may not tell either."
            ).format(rate=format_rate(ACCEPTANCE_MM_H, units)),
        ),
    )


def forecast(example: Example, system: UnitSystem) -> Chapter:
    """The forecast in plain words."""
    units = system.value
    return Chapter(
        "forecasting",
        _("The forecast in plain words"),
        (
            text(
                _(
                    "From a surface’s own tests and from those of similar surfaces of the firm the rate is estimated "
                    "for today and for the years ahead, if nothing is done. A new firm’s forecasts begin from "
                    "published figures; each test makes them more its own. No record ever crosses from one firm to "
                    "another."
                )
            ),
            picture("decline", _(DECLINE_CAPTION)),
            text(_forecast_of(example, units)),
            points(
                (
                    _("A range is"),
                    _(
                        "where the true rate lies eight times out of ten. Few tests make it wide, new ones narrow it."
                    ),
                ),
                (
                    _("A range is not"),
                    _(
                        "a promise, nor the difference between spots, nor what a single test will read. Two times in "
                        "ten the truth lies outside, and that is no mistake."
                    ),
                ),
                (
                    _("What no range holds:"),
                    _(
                        "a surface that is sealed within months, as by a spill of soil. Look, and test, where "
                        "something happened."
                    ),
                ),
                (
                    _("Whether to trust it:"),
                    _(
                        "“What your records show” under Firm holds past forecasts against the rounds that came after."
                    ),
                ),
            ),
        ),
    )


def _forecast_of(example: Example, units: str) -> str:
    seen, record = example.seen, example.record
    now, reach = seen.rate_now_mm_h, record.reach
    low, middle, high = (format_rate(rate, units) for rate in (now.lo80, now.median, now.hi80))
    return _(
        "This invented surface opened on {opened}. On {today} its rate is put at {middle}, with an 80 % range of {low} "
        "to {high}; it is expected to lose {loss} % in the coming year, and the chance that it is below its limit "
        "today is {chance}. That chance reaches one in ten on {early} and {likely} on {reached}: that day is shown as "
        "“likely to reach the limit by”."
    ).format(
        opened=day(OPENED_ON),
        today=day(record.today),
        middle=middle,
        low=low,
        high=high,
        loss=figure(seen.decline_percent_a_year.median),
        chance=percent(seen.p_below_now),
        early=day(reach.below_10_on),
        likely=percent(LIKELY_SHARE),
        reached=day(reach.below_50_on),
    )
