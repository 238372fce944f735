"""How advice comes about, worked through at the invented surface."""

from core.calc.care_value import BELOW_PRICE_M2_YR, FRESH_TEST_ABOVE
from core.calc.format import figure, format_measure, format_rate, money, percent
from core.calc.units import Quantity, UnitSystem
from maintenance.calc.sediment import WHERE_TO_LOOK
from reporting.calc.handbook_example import AREA_M2, HORIZON_YR, LIMIT_MM_H, Example, Way
from reporting.presentation.handbook.blocks import Chapter, points, steps, table, text, title

COLUMNS = ("Way", "Price", "Rate after", "Given back", "Years until the limit", "Keeping within, a year")


def advice(example: Example, system: UnitSystem, currency: str) -> Chapter:
    """What is weighed, and how the choice is made."""
    return Chapter(
        "advising",
        "Advice, and how the choice is made",
        (
            text(
                "Advised is what costs least from here on: works, tests and time below the limit together. Time "
                "below has a price that the firm sets for a square metre and year, and may set for an owner or a "
                f"site; it starts at {figure(BELOW_PRICE_M2_YR)}, which is our judgement. No fixed chance decides: "
                "where a sweeping is cheap and a year below is dear, a chance of a few percent is enough."
            ),
            title("Worked through"),
            text(
                "The invented surface again, with the starting prices of this tool; put in your own under Firm, "
                "“Methods and prices”."
            ),
            steps(*_worked(example, system.value, currency)),
            table(
                COLUMNS,
                tuple(_row(way, system.value, currency) for way in example.ways),
                "Ways of cleaning compared",
            ),
            text(_comes_to(example, currency)),
            title("What to do with it"),
            points(
                (
                    "Plan it,",
                    "put it off to a day, or decline it with a reason. It comes back on its day, or when things have "
                    "changed for the worse.",
                ),
                (
                    "The order of the first page",
                    "is by what a quarter’s waiting costs, the price of the work counted, and not by dates.",
                ),
                ("A test first", "is advised where the result decides whether to clean."),
                (
                    "A restoration",
                    f"that costs more than {money(FRESH_TEST_ABOVE, currency)}, or what the firm sets, waits for a "
                    "fresh test and a person’s word.",
                ),
                ("Sediment first:", WHERE_TO_LOOK),
            ),
        ),
    )


def _worked(example: Example, units: str, currency: str) -> tuple[tuple[str, str], ...]:
    best = example.holding[0]
    sight = best.sight
    new, now, after = (format_rate(r, units) for r in (sight.new_mm_h, sight.now_mm_h, sight.after_mm_h))
    area, limit = format_measure(AREA_M2, Quantity.AREA, units), format_rate(LIMIT_MM_H, units)
    return (
        (
            "A year below counts as",
            f"{money(sight.year_below, currency)}: {area} at {money(sight.worth_m2_yr, currency)} a m².",
        ),
        (
            "It may fall",
            f"by ln({new} / {limit}) = {sight.headroom:.2f} until it is at its limit, and falls by "
            f"{sight.decline_yr:.2f} a year. Rates fall and rise by shares, hence logarithms.",
        ),
        (
            f"{best.method.label}",
            f"costs {money(sight.price, currency)} and gives back ln({after} / {now}) over ln({new} / {now}), that is "
            f"{percent(sight.share_restored)} of what was lost.",
        ),
        (
            "Keeping it within by that costs a year",
            f"price times decline over share given back times headroom: {money(sight.price, currency)} · "
            f"{sight.decline_yr:.2f} / ({sight.share_restored:.2f} · {sight.headroom:.2f}) = "
            f"{money(sight.holding_a_year or 0.0, currency)}.",
        ),
    )


def _row(way: Way, units: str, currency: str) -> tuple[str, ...]:
    sight, years = way.sight, way.years
    holding = sight.holding_a_year
    return (
        way.method.label,
        money(sight.price, currency),
        format_rate(sight.after_mm_h, units),
        percent(sight.share_restored),
        f"over {HORIZON_YR:g}" if years is None else f"{years:.1f}",
        "does not" if holding is None else money(holding, currency),
    )


def _comes_to(example: Example, currency: str) -> str:
    best, *others = example.holding
    least, most = best.sight.holding_a_year or 0.0, others[-1].sight.holding_a_year or 0.0
    return (
        f"By these middle figures {best.method.in_sentence} keeps it within its limit for least, about "
        f"{money(least, currency)} a year; {others[-1].method.in_sentence} takes {money(most, currency)}. The advice "
        "itself carries every way, with its tests and its time below, out on many futures drawn from the whole "
        "range, and does not clean before that pays. “Why this advice” shows the same steps for each of your own "
        "surfaces, and “What care costs” sets whole programmes of ten years side by side."
    )
