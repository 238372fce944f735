"""How advice comes about, worked through at the invented surface."""

from core.calc.care_value import BELOW_PRICE_M2_YR, FRESH_TEST_ABOVE
from core.calc.format import area_price, area_unit, figure, fixed, format_measure, format_rate, money, percent
from core.calc.marks import marked
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, pgettext
from core.calc.units import Quantity, UnitSystem, price_to_display
from maintenance.calc.sediment import WHERE_TO_LOOK
from reporting.calc.handbook_example import AREA_M2, HORIZON_YR, LIMIT_MM_H, Example, Way
from reporting.presentation.handbook.blocks import Block, Chapter, points, steps, table, text, title

COLUMNS = (
    gettext_noop("Price"),
    gettext_noop("Rate after"),
    gettext_noop("Given back"),
    gettext_noop("Years until the limit"),
    gettext_noop("Keeping within, a year"),
)


def advice(example: Example, system: UnitSystem, currency: str) -> Chapter:
    """What is weighed, and how the choice is made."""
    return Chapter(
        "advising",
        _("Advice, and how the choice is made"),
        (
            text(
                _(
                    "Advised is what costs least from here on: works, tests and time below the limit together. Time "
                    "below has a price that the firm sets for each {unit} and year, and may set for an owner or a "
                    "site; it starts at {price}, which is our judgement. No fixed chance decides: where a sweeping is "
                    "cheap and a year below is dear, a chance of a few percent is enough."
                ).format(unit=area_unit(system.value), price=_start(system))
            ),
            title(_("Worked through")),
            text(
                _(
                    "The invented surface again, with the starting prices of this tool; put in your own under Firm, "
                    "“Methods and prices”."
                )
            ),
            steps(*_worked(example, system.value, currency)),
            table(
                (pgettext("of cleaning", "Way"), *map(_, COLUMNS)),
                tuple(_row(way, system.value, currency) for way in example.ways),
                _("Ways of cleaning compared"),
            ),
            text(_comes_to(example, currency)),
            title(_("What to do with it")),
            _what_to_do(currency),
        ),
    )


def _start(system: UnitSystem) -> str:
    """The starting price of a year below, without a currency: it is the same number in each."""
    shown = price_to_display(BELOW_PRICE_M2_YR, Quantity.PRICE_BY_AREA, system)
    return figure(float(shown))


def _what_to_do(currency: str) -> Block:
    """What a person does with advice."""
    return points(
        (
            _("Plan it,"),
            _(
                "put it off to a day, or decline it with a reason. It comes back on its day, or when things "
                "have changed for the worse."
            ),
        ),
        (
            _("The order of the first page"),
            _("is by what a quarter’s waiting costs, the price of the work counted, and not by dates."),
        ),
        (_("A test first"), _("is advised where the result decides whether to clean.")),
        (
            _("A restoration"),
            _(
                "that costs more than {cost}, or what the firm sets, waits for a fresh test and a person’s "
                "word."
            ).format(cost=money(FRESH_TEST_ABOVE, currency)),
        ),
        (_("Sediment first:"), _(WHERE_TO_LOOK)),
    )


def _worked(example: Example, units: str, currency: str) -> tuple[tuple[str, str], ...]:
    best = example.holding[0]
    sight = best.sight
    new, now, after = (format_rate(r, units) for r in (sight.new_mm_h, sight.now_mm_h, sight.after_mm_h))
    price, headroom, decline = (
        money(sight.price, currency),
        fixed(sight.headroom, 2),
        fixed(sight.decline_yr, 2),
    )
    area, limit = format_measure(AREA_M2, Quantity.AREA, units), format_rate(LIMIT_MM_H, units)
    return (
        (
            _("A year below counts as"),
            _("{total}: {area} at {price} a {unit}.").format(
                total=money(sight.year_below, currency),
                area=area,
                price=area_price(sight.worth_m2_yr, currency, units),
                unit=area_unit(units),
            ),
        ),
        (
            _("It may fall"),
            _(
                "by ln({new} / {limit}) = {headroom} until it is at its limit, and falls by {decline} a year. Rates "
                "fall and rise by shares, hence logarithms."
            ).format(new=new, limit=limit, headroom=headroom, decline=decline),
        ),
        (
            best.method.label,
            _(
                "costs {price} and gives back ln({after} / {now}) over ln({new} / {now}), that is {share} of what was "
                "lost."
            ).format(price=price, after=after, now=now, new=new, share=percent(sight.share_restored)),
        ),
        (
            _("Keeping it within by that costs a year"),
            _(
                "price times decline over share given back times headroom: {price} · {decline} / ({share} · "
                "{headroom}) = {holding}."
            ).format(
                price=price,
                decline=decline,
                share=fixed(sight.share_restored or 0.0, 2),
                headroom=headroom,
                holding=money(sight.holding_a_year or 0.0, currency),
            ),
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
        _("over {years}").format(years=marked(f"{HORIZON_YR:g}")) if years is None else fixed(years, 1),
        pgettext("keep it within its limit", "does not") if holding is None else money(holding, currency),
    )


def _comes_to(example: Example, currency: str) -> str:
    best, *others = example.holding
    least, most = best.sight.holding_a_year or 0.0, others[-1].sight.holding_a_year or 0.0
    return _(
        "By these middle figures {cheapest} keeps it within its limit for least, about {least} a year; {dearest} takes "
        "{most}. The advice itself carries every way, with its tests and its time below, out on many futures drawn "
        "from the whole range, and does not clean before that pays. “Why this advice” shows the same steps for each of "
        "your own surfaces, and “What care costs” sets whole programmes of ten years side by side."
    ).format(
        cheapest=best.method.in_sentence,
        least=money(least, currency),
        dearest=others[-1].method.in_sentence,
        most=money(most, currency),
    )
