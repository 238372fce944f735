"""A crew in words: when, from where and with what it works."""

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import NOTHING, area_price, area_unit, fixed, money, weekday
from core.calc.units import Measure, Quantity, UnitSystem, rounded_for_reading, to_display
from planning.calc.outputs import Output
from planning.models import Crew, CrewMethod
from planning.presentation.work_plans import span_words
from planning.selectors.outputs import Outputs

A_MONDAY = date(2024, 1, 1)
ENTERED_DIGITS = 6


def crew_facts(crew: Crew, units: str) -> tuple[tuple[str, str], ...]:
    """Names and words."""
    start, end = crew.shift_min
    people = ", ".join(str(person) for person in crew.people.all())
    days = ", ".join(weekday(A_MONDAY.replace(day=number)) for number in sorted(crew.weekdays))
    currency = crew.organisation.currency
    costs = _("{hour} an hour, {km} a kilometre").format(
        hour=money(crew.hour_cost, currency), km=money(crew.km_cost, currency)
    )
    # Translators: kinds of crews.
    kind = _("subcontracted") if crew.is_subcontracted else _("the firm's own")
    return (
        (_("People"), people or NOTHING),
        (_("Works on"), days or _("no day of the week")),
        (_("Hours"), span_words(start, end)),
        (_("Starts from"), crew.depot or NOTHING),
        (_("Costs"), costs),
        (_("Kind"), kind),
        (_("Equipped for"), _equipment(crew, units)),
    )


def _equipment(crew: Crew, units: str) -> str:
    rows = list(crew.methods.all())
    if not rows:
        return _("every way of cleaning the firm offers")
    return "; ".join(_method(row, crew.organisation.currency, units) for row in rows)


def _method(row: CrewMethod, currency: str, units: str) -> str:
    words = [str(row.get_method_display())]
    if row.output_m2_h:
        entered = _shown(row.output_m2_h, units)
        words.append(f"{rounded_for_reading(entered.value, ENTERED_DIGITS)} {entered.unit}")
    if row.cost_per_m2 is not None:
        said = _("{money} per {unit}")
        price = area_price(row.cost_per_m2, currency, units)
        words.append(said.format(money=price, unit=area_unit(units)))
    return ", ".join(words)


def output_rows(crew: Crew, outputs: Outputs, units: str) -> list[tuple[str, str, str]]:
    """By way of cleaning with hours told: its name, the output plans count with, and what that rests on."""
    return [
        (method.label, _said(output.m2_h, units), _rests_on(output, units))
        for (pk, method), output in outputs.items()
        if pk == crew.pk and output.jobs
    ]


def _rests_on(output: Output, units: str) -> str:
    if output.low_m2_h is None or output.high_m2_h is None:
        few = ngettext(
            "{count} job told: too few, what was entered holds",
            "{count} jobs told: too few, what was entered holds",
            output.jobs,
        )
        return few.format(count=output.jobs)
    said = ngettext(
        "{count} job told: 8 in 10 between {low} and {high} {unit}",
        "{count} jobs told: 8 in 10 between {low} and {high} {unit}",
        output.jobs,
    )
    low, high = (_shown(end, units) for end in (output.low_m2_h, output.high_m2_h))
    return said.format(count=output.jobs, low=fixed(low.value, 0), high=fixed(high.value, 0), unit=high.unit)


def _shown(output_m2_h: float, units: str) -> Measure:
    return to_display(output_m2_h, Quantity.OUTPUT, UnitSystem(units))


def _said(output_m2_h: float, units: str) -> str:
    """An output to the whole unit."""
    shown = _shown(output_m2_h, units)
    return f"{fixed(shown.value, 0)} {shown.unit}"
