"""Ways of caring for a surface in words."""

from core.calc.format import figure, format_rate, money, percent
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome

A_CENT = 0.01


def outcome_name(outcome: CareOutcome, currency: str) -> str:
    """What a programme is, told apart from the others of its kind."""
    programme = outcome.programme
    sweeper = programme.sweep_with.label.lower() if programme.sweep_with else ""
    times = {1.0: "once a year", 2.0: "twice a year"}.get(
        programme.sweeps_a_year, f"{figure(programme.sweeps_a_year)} times a year"
    )
    if outcome.kind is CareKind.CALENDAR:
        return f"{sweeper.capitalize()} {times}"
    if outcome.kind is CareKind.STRONGER and programme.restore_with:
        doubt = percent(programme.level)
        return f"{sweeper.capitalize()} {times}, {programme.restore_with.label.lower()} from {doubt} on"
    if outcome.kind is CareKind.AGREED:
        tests = f"a test every {figure(programme.test_every_yr)} years" if programme.test_every_yr else ""
        parts = [f"{sweeper} {times}" if sweeper else "", tests]
        return f"As agreed: {', '.join(part for part in parts if part)}"
    if outcome.kind in (CareKind.LESS, CareKind.MORE):
        worth = money(programme.worth_m2_yr or 0.0, currency)
        return f"{outcome.kind.label}, as if a year within were worth {worth} a m²"
    return outcome.kind.label


def uses_words(outcome: CareOutcome) -> str:
    """How often each method is used, and tests are made, on average."""
    said = [f"{use.method.label.lower()} {_often(use.a_year)}" for use in outcome.uses]
    if outcome.tests_a_year >= A_CENT:
        said.append(f"a test {_often(outcome.tests_a_year)}")
    return "; ".join(said) if said else "nothing"


def _often(a_year: float) -> str:
    if a_year >= 1.0:
        return f"{a_year:.1f} times a year"
    every = 1.0 / a_year
    return f"every {every:.0f} years" if every >= 1.5 else "about once a year"


def lead_sentence(compared: CareComparison, area_m2: float, currency: str) -> str:
    """What is suggested, with the figures of this surface worked through."""
    chosen = compared.chosen
    year = money(compared.below_price_m2_yr * area_m2, currency)
    cost = chosen.cost_a_year
    return (
        f"A year below its limit counts as {year} here: {money(compared.below_price_m2_yr, currency)} a m² on "
        f"{area_m2:,.0f} m². Suggested: {_within_a_sentence(outcome_name(chosen, currency))}, "
        f"which is {uses_words(chosen)}. "
        f"That costs about {money(cost.mean, currency)} a year over ten years (80 % range "
        f"{money(cost.lo80, currency)} to {money(cost.hi80, currency)}), leaves it below its limit "
        f"{_months(chosen.months_below)} a year, and keeps it within the limit all ten years with a chance of "
        f"{percent(chosen.chance_within)}.{_why_other(compared, currency)}"
    )


def _within_a_sentence(name: str) -> str:
    """A name as it stands within a sentence; what follows its first sign, such as a currency, stays."""
    return name[:1].lower() + name[1:]


def _why_other(compared: CareComparison, currency: str) -> str:
    """Why more or less care is suggested than the price of time below alone would call for."""
    chosen, own = compared.chosen, compared.of(CareKind.ADVISED)
    if own is None or chosen.kind not in (CareKind.LESS, CareKind.MORE):
        return ""
    saved = money(own.total_10 - chosen.total_10, currency)
    return f" Counted at the price above, it costs {saved} less over ten years in all than deciding by that price."


def _months(months: float) -> str:
    return f"{months:.1f} months" if months >= 0.05 else "hardly a day"


def changes(compared: CareComparison, currency: str, units: str) -> tuple[str, ...]:
    """What would change the suggestion, each with the figure at which it would."""
    return tuple(
        said
        for said in (
            _by_rate(compared, units),
            _by_worth(compared, currency),
            _by_test(compared, currency),
            _by_source(compared, currency),
            _by_nothing(compared, currency),
        )
        if said
    )


def _by_rate(compared: CareComparison, units: str) -> str:
    if compared.acts_below_mm_h is None:
        return "No rate, however low, would call for a cleaning now at these prices."
    rate = format_rate(compared.acts_below_mm_h, units)
    return f"The rate: below {rate} a cleaning now would pay, above it waiting costs less."


def _by_worth(compared: CareComparison, currency: str) -> str:
    """Where the first step changes along the frontier."""
    own = compared.of(CareKind.ADVISED)
    others = [o for o in compared.outcomes if o.kind in (CareKind.LESS, CareKind.MORE)]
    if own is None or not others:
        return ""
    told = []
    for other in (others[0], others[-1]):
        worth = money(other.programme.worth_m2_yr or 0.0, currency)
        cost = money(other.cost_a_year.mean, currency)
        said = f"at {worth} a m² it would be {uses_words(other)}, {cost} a year"
        told += [said] if said not in told else []
    return f"What a year within the limit is worth: {'; '.join(told)}."


def _by_test(compared: CareComparison, currency: str) -> str:
    saved = compared.test_saves
    if saved is None:
        return ""
    if saved > 0:
        return (
            f"Tests: made when due they save {money(saved, currency)} over ten years, their price counted; "
            "at a price higher by more than that they would not be worth it."
        )
    if round(saved, 2) == 0.0:
        return "Tests: over ten years they save here what they cost."
    return f"Tests: over ten years they cost {money(-saved, currency)} more than they save here."


def _by_source(compared: CareComparison, currency: str) -> str:
    saved = compared.source_saves
    if saved is None:
        return ""
    if saved <= 0:
        return "The sediment: stopping its source would save nothing here."
    return (
        f"The sediment: stopping its source saves about {money(saved, currency)} over twenty years. "
        "It pays up to that price."
    )


def _by_nothing(compared: CareComparison, currency: str) -> str:
    nothing, chosen = compared.of(CareKind.NOTHING), compared.chosen
    if nothing is None or chosen.kind is CareKind.NOTHING:
        return ""
    lost = money(nothing.total_10 - chosen.total_10, currency)
    below = _months(nothing.months_below)
    return (
        f"Doing nothing leaves it below its limit {below} a year and costs {lost} more over ten years in all."
    )
