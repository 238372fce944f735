"""A crew in words: when, from where and with what it works."""

from core.calc.format import NOTHING, counted, money
from core.calc.weekdays import NAMES
from planning.calc.outputs import Output
from planning.models import Crew
from planning.presentation.work_plans import clock
from planning.selectors.outputs import Outputs


def crew_facts(crew: Crew) -> tuple[tuple[str, str], ...]:
    """Names and words."""
    start, end = crew.shift_min
    people = ", ".join(str(person) for person in crew.people.all())
    days = ", ".join(NAMES[number - 1] for number in sorted(crew.weekdays)) or "no day of the week"
    currency = crew.organisation.currency
    costs = f"{money(crew.hour_cost, currency)} an hour, {money(crew.km_cost, currency)} a kilometre"
    kind = "subcontracted" if crew.is_subcontracted else "the firm's own"
    return (
        ("People", people or NOTHING),
        ("Works on", days),
        ("Hours", f"{clock(start)} to {clock(end)}"),
        ("Starts from", crew.depot or NOTHING),
        ("Costs", costs),
        ("Kind", kind),
        ("Equipped for", _equipment(crew)),
    )


def _equipment(crew: Crew) -> str:
    rows = list(crew.methods.all())
    if not rows:
        return "every way of cleaning the firm offers"
    return "; ".join(
        f"{row.get_method_display()}{f', {row.output_m2_h:g} m²/h' if row.output_m2_h else ''}"
        f"{f', {money(row.cost_per_m2, crew.organisation.currency)} per m²' if row.cost_per_m2 is not None else ''}"
        for row in rows
    )


def output_rows(crew: Crew, outputs: Outputs) -> list[tuple[str, str, str]]:
    """By way of cleaning with hours told: its name, the output plans count with, and what that rests on."""
    return [
        (method.label, f"{output.m2_h:.0f} m²/h", _rests_on(output))
        for (pk, method), output in outputs.items()
        if pk == crew.pk and output.jobs
    ]


def _rests_on(output: Output) -> str:
    jobs = counted(output.jobs, "job")
    if output.low_m2_h is None or output.high_m2_h is None:
        return f"{jobs} told: too few, what was entered holds"
    return f"{jobs} told: 8 in 10 between {output.low_m2_h:.0f} and {output.high_m2_h:.0f} m²/h"
