"""Cleaning and re-jointing, days and crews, work without signal."""

from core.calc.format import figure, format_measure
from core.calc.nominal import spoken
from core.calc.paving import CleaningMethod
from core.calc.promised import PHONE_DAYS_AHEAD, PHONE_DAYS_BEHIND, PHONE_SENT_DAYS
from core.calc.units import Quantity, UnitSystem
from maintenance.calc.costs import DEFAULT_TERMS
from maintenance.calc.suitability import CARE
from qa.presentation import disclaimers
from reporting.presentation.handbook.blocks import Chapter, caution, points, table, text


def cleaning(system: UnitSystem) -> Chapter:
    """Ways of cleaning, what to mind, and what to record."""
    rows = tuple(
        (method.label, spoken(CARE[method], system), *_pace(method, system)) for method in CleaningMethod
    )
    return Chapter(
        "cleaning",
        "Cleaning and re-jointing",
        (
            text(
                "From the gentlest to a new surface. Which of them suit a surface goes by its type, and only those are "
                "advised. Outputs and setting times are starting values of this tool: enter your own."
            ),
            table(("Way", "What to mind", "In an hour", "Opens after"), rows, "Ways of cleaning"),
            points(
                (
                    "Test before and after,",
                    "at the same spots, within weeks. Only so do you know what the cleaning gave, and the forecast "
                    "learns what your crews’ work gives.",
                ),
                (
                    "Record",
                    "the share of the area, whether it was dry, passes or pressure, what was taken out and put in, and "
                    "where the waste went.",
                ),
                (
                    "Stop the source",
                    "of the sediment, and record the day: what is restored clogs again at the same pace.",
                ),
            ),
            caution(f"{disclaimers.DUST_AND_TRAFFIC} {disclaimers.UTILITIES} {disclaimers.WASTE_AND_WELLS}"),
        ),
    )


def _pace(method: CleaningMethod, system: UnitSystem) -> tuple[str, str]:
    terms = DEFAULT_TERMS[method]
    area = format_measure(terms.output_m2_h, Quantity.AREA, system.value)
    if not terms.vehicles_after_h:
        return area, "at once"
    return area, f"{figure(terms.foot_after_h)} h feet, {figure(terms.vehicles_after_h)} h vehicles"


def days() -> Chapter:
    """Visits, crews, and how a day is told."""
    return Chapter(
        "days",
        "Days and crews",
        (
            text(
                "A visit is one crew on one day with its tasks. Advice, agreements and findings become tasks on it."
            ),
            points(
                (
                    "Crews",
                    "have people, working days, a depot, equipment with its outputs, and days away. A subcontractor "
                    "is a crew, too.",
                ),
                (
                    "A plan of work",
                    "proposes who does what on which day of the coming weeks, by what the work is worth less crews, "
                    "driving and arrivals, and says why something was left. Accept the days you want; only then are "
                    "there visits.",
                ),
                (
                    "On the day",
                    "My day shows the stops in order, what to load, how to get in and what to mind. The crew records "
                    "each task, then tells how the day went: hours, and what is left over.",
                ),
                (
                    "Hours that were told",
                    "teach the outputs, so that the next plan counts with what the crew really does.",
                ),
                (
                    "Bad weather:",
                    "“day unworkable” moves all of a day’s work to later days, and owners who were told are told anew.",
                ),
                (
                    "Calendars",
                    "of other programs can subscribe to a crew’s or a person’s visits by a secret address.",
                ),
            ),
        ),
    )


def signal() -> Chapter:
    """Recording where there is no signal."""
    return Chapter(
        "signal",
        "Without signal",
        (
            text(
                "Everything a technician records is written to the phone first, then sent; only the answer of the "
                "server takes it off the list. It is the same with signal and without."
            ),
            points(
                (
                    "Before you drive out,",
                    f"open My day with signal. The phone keeps the visits of your crews from {PHONE_DAYS_BEHIND} days "
                    f"back to {PHONE_DAYS_AHEAD} days ahead with all their forms, and surfaces kept by “Keep on this "
                    "phone”.",
                ),
                ("The bar on top", "tells how much waits. “On this phone” lists it: to send, sent, refused."),
                (
                    "What was refused",
                    "says why. Open it, mend it, save it again; nothing else takes it away.",
                ),
                (
                    "What was sent",
                    f"stays on the phone for {PHONE_SENT_DAYS} days, and is sent again if the server was put back to "
                    "an older state.",
                ),
                (
                    "The office",
                    "sees under “Phones” what waits on each. A phone that cannot send writes a copy that the office "
                    "takes in.",
                ),
                ("Do not", "clear the browser’s data while something waits, and use no private window."),
            ),
        ),
    )
