"""A crew in words: when, from where and with what it works."""

from core.calc.format import NOTHING, money
from core.calc.weekdays import NAMES
from planning.models import Crew
from planning.presentation.work_plans import clock


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
