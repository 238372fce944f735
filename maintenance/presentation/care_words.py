"""Ways of caring for a surface in words."""

from django.utils.translation import gettext as _

from core.calc.format import area_price, area_unit, figure, fixed, format_rate, money, percent
from core.calc.units import Quantity, UnitSystem, to_display
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome
from maintenance.calc.deciding.programmes import Programme

A_CENT = 0.01


def outcome_name(outcome: CareOutcome, currency: str, units: str) -> str:
    """What a programme is, told apart from the others of its kind."""
    programme = outcome.programme
    swept = _swept(programme)
    if outcome.kind is CareKind.CALENDAR:
        return swept.capitalize()
    if outcome.kind is CareKind.STRONGER and programme.restore_with:
        return _("{sweeping}, {restoring} from {chance} on").format(
            sweeping=swept.capitalize(),
            restoring=programme.restore_with.label.lower(),
            chance=percent(programme.level),
        )
    if outcome.kind is CareKind.AGREED:
        return _("As agreed: {care}").format(care=", ".join(filter(None, (swept, _tested(programme)))))
    if outcome.kind in (CareKind.LESS, CareKind.MORE):
        return _("{care}, as if a year within were worth {worth} a {unit}").format(
            care=outcome.kind.label,
            worth=area_price(programme.worth_m2_yr or 0.0, currency, units),
            unit=area_unit(units),
        )
    return outcome.kind.label


def _swept(programme: Programme) -> str:
    if not programme.sweep_with:
        return ""
    a_year = programme.sweeps_a_year
    often = _("{count} times a year").format(count=figure(a_year))
    if a_year in (1.0, 2.0):
        often = _("once a year") if a_year == 1.0 else _("twice a year")
    # Translators: such as "vacuum sweeping twice a year".
    return _("{method} {how_often}").format(method=programme.sweep_with.label.lower(), how_often=often)


def _tested(programme: Programme) -> str:
    every = programme.test_every_yr
    if every == 1.0:
        return _("a test every year")
    return _("a test every {years} years").format(years=figure(every)) if every else ""


def uses_words(outcome: CareOutcome) -> str:
    """How often each method is used, and tests are made, on average."""
    said = [
        _("{method} {how_often}").format(method=use.method.label.lower(), how_often=_often(use.a_year))
        for use in outcome.uses
    ]
    if outcome.tests_a_year >= A_CENT:
        said.append(_("a test {how_often}").format(how_often=_often(outcome.tests_a_year)))
    return "; ".join(said) if said else _("nothing")


def _often(a_year: float) -> str:
    if a_year >= 1.05:  # "1.0 times a year" is not how people say it
        return _("{count} times a year").format(count=fixed(a_year, 1))
    every = 1.0 / a_year
    if every < 1.5:
        return _("about once a year")
    return _("every {years} years").format(years=fixed(every, 0))


def lead_sentence(compared: CareComparison, area_m2: float, currency: str, units: str) -> str:
    """What is suggested, with the figures of this surface worked through."""
    chosen, below = compared.chosen, compared.below_price_m2_yr
    cost = chosen.cost_a_year
    said = _(
        "A year below its limit counts as {year} here: {price} a {unit} on {area}. Suggested: {programme}, which is "
        "{uses}. That costs about {cost} a year over ten years (80 % range {low} to {high}), leaves it below its "
        "limit {months} a year, and keeps it within the limit all ten years with a chance of {chance}."
    ).format(
        year=money(below * area_m2, currency),
        price=area_price(below, currency, units),
        unit=area_unit(units),
        area=_area(area_m2, units),
        programme=_within_a_sentence(outcome_name(chosen, currency, units)),
        uses=uses_words(chosen),
        cost=money(cost.mean, currency),
        low=money(cost.lo80, currency),
        high=money(cost.hi80, currency),
        months=_months(chosen.months_below),
        chance=percent(chosen.chance_within),
    )
    return " ".join(filter(None, (said, _why_other(compared, currency))))


def _area(area_m2: float, units: str) -> str:
    """An area to the whole unit."""
    shown = to_display(area_m2, Quantity.AREA, UnitSystem(units))
    return f"{fixed(shown.value, 0, parted=True)} {shown.unit}"


def _within_a_sentence(name: str) -> str:
    """A name as it stands within a sentence; what follows its first sign, such as a currency, stays."""
    return name[:1].lower() + name[1:]


def _why_other(compared: CareComparison, currency: str) -> str:
    """Why more or less care is suggested than the price of time below alone would call for."""
    chosen, own = compared.chosen, compared.of(CareKind.ADVISED)
    if own is None or chosen.kind not in (CareKind.LESS, CareKind.MORE):
        return ""
    saved = money(own.total_10 - chosen.total_10, currency)
    said = _(
        "Counted at the price above, it costs {saved} less over ten years in all than deciding by that price."
    )
    return said.format(saved=saved)


def _months(months: float) -> str:
    return _("{months} months").format(months=fixed(months, 1)) if months >= 0.05 else _("hardly a day")


def changes(compared: CareComparison, currency: str, units: str) -> tuple[str, ...]:
    """What would change the suggestion, each with the figure at which it would."""
    return tuple(
        said
        for said in (
            _by_rate(compared, units),
            _by_worth(compared, currency, units),
            _by_test(compared, currency),
            _by_source(compared, currency),
            _by_nothing(compared, currency),
        )
        if said
    )


def _by_rate(compared: CareComparison, units: str) -> str:
    if compared.acts_below_mm_h is None:
        return _("No rate, however low, would call for a cleaning now at these prices.")
    said = _("The rate: below {rate} a cleaning now would pay, above it waiting costs less.")
    return said.format(rate=format_rate(compared.acts_below_mm_h, units))


def _by_worth(compared: CareComparison, currency: str, units: str) -> str:
    """Where the first step changes along the frontier."""
    own = compared.of(CareKind.ADVISED)
    others = [o for o in compared.outcomes if o.kind in (CareKind.LESS, CareKind.MORE)]
    if own is None or not others:
        return ""
    told = []
    for other in (others[0], others[-1]):
        said = _("at {worth} a {unit} it would be {uses}, {cost} a year").format(
            worth=area_price(other.programme.worth_m2_yr or 0.0, currency, units),
            unit=area_unit(units),
            uses=uses_words(other),
            cost=money(other.cost_a_year.mean, currency),
        )
        told += [said] if said not in told else []
    return _("What a year within the limit is worth: {cases}.").format(cases="; ".join(told))


def _by_test(compared: CareComparison, currency: str) -> str:
    saved = compared.test_saves
    if saved is None:
        return ""
    if saved > 0:
        return _(
            "Tests: made when due they save {saved} over ten years, their price counted; "
            "at a price higher by more than that they would not be worth it."
        ).format(saved=money(saved, currency))
    if round(saved, 2) == 0.0:
        return _("Tests: over ten years they save here what they cost.")
    said = _("Tests: over ten years they cost {more} more than they save here.")
    return said.format(more=money(-saved, currency))


def _by_source(compared: CareComparison, currency: str) -> str:
    saved = compared.source_saves
    if saved is None:
        return ""
    if saved <= 0:
        return _("The sediment: stopping its source would save nothing here.")
    said = _(
        "The sediment: stopping its source saves about {saved} over twenty years. It pays up to that price."
    )
    return said.format(saved=money(saved, currency))


def _by_nothing(compared: CareComparison, currency: str) -> str:
    nothing, chosen = compared.of(CareKind.NOTHING), compared.chosen
    if nothing is None or chosen.kind is CareKind.NOTHING:
        return ""
    said = _(
        "Doing nothing leaves it below its limit {months} a year and costs {lost} more over ten years in all."
    )
    lost = money(nothing.total_10 - chosen.total_10, currency)
    return said.format(months=_months(nothing.months_below), lost=lost)
