"""Cleaning and re-jointing, days and crews, work without signal."""

from core.calc.format import figure, format_measure
from core.calc.nominal import spoken
from core.calc.paving import CleaningMethod
from core.calc.promised import PHONE_DAYS_AHEAD, PHONE_DAYS_BEHIND, PHONE_SENT_DAYS
from core.calc.translation import gettext as _
from core.calc.translation import pgettext
from core.calc.units import Quantity, UnitSystem
from maintenance.calc.costs import DEFAULT_TERMS
from maintenance.calc.suitability import CARE
from qa.presentation import disclaimers
from reporting.presentation.handbook.blocks import Block, Chapter, caution, points, table, text


def cleaning(system: UnitSystem) -> Chapter:
    """Ways of cleaning, what to mind, and what to record."""
    rows = tuple(
        (method.label, spoken(_(CARE[method]), system), *_pace(method, system)) for method in CleaningMethod
    )
    return Chapter(
        "cleaning",
        _("Cleaning and re-jointing"),
        (
            text(
                _(
                    "From the gentlest to a new surface. Which of them suit a surface goes by its type, and only those "
                    "are advised. Outputs and setting times are starting values of this tool: enter your own."
                )
            ),
            table(
                (pgettext("of cleaning", "Way"), _("What to mind"), _("In an hour"), _("Opens after")),
                rows,
                _("Ways of cleaning"),
            ),
            points(
                (
                    _("Test before and after,"),
                    _(
                        "at the same spots, within weeks. Only so do you know what the cleaning gave, and the forecast "
                        "learns what your crews’ work gives."
                    ),
                ),
                (
                    pgettext("what to do", "Record"),
                    _(
                        "the share of the area, whether it was dry, passes or pressure, what was taken out and put in, "
                        "and where the waste went."
                    ),
                ),
                (
                    _("Stop the source"),
                    _("of the sediment, and record the day: what is restored clogs again at the same pace."),
                ),
            ),
            caution(
                _(disclaimers.DUST_AND_TRAFFIC), _(disclaimers.UTILITIES), _(disclaimers.WASTE_AND_WELLS)
            ),
        ),
    )


def _pace(method: CleaningMethod, system: UnitSystem) -> tuple[str, str]:
    terms = DEFAULT_TERMS[method]
    area = format_measure(terms.output_m2_h, Quantity.AREA, system.value)
    if not terms.vehicles_after_h:
        return area, _("at once")
    said = _("{feet} h feet, {vehicles} h vehicles")
    return area, said.format(feet=figure(terms.foot_after_h), vehicles=figure(terms.vehicles_after_h))


def days() -> Chapter:
    """Visits, crews, and how a day is told."""
    return Chapter(
        "days",
        _("Days and crews"),
        (
            text(
                _(
                    "A visit is one crew on one day with its tasks. Advice, agreements and findings become tasks on it."
                )
            ),
            _of_a_day(),
        ),
    )


def _of_a_day() -> Block:
    """Who goes, by which plan, and how it is told."""
    return points(
        (
            _("Crews"),
            _(
                "have people, working days, a depot, equipment with its outputs, and days away. A "
                "subcontractor is a crew, too."
            ),
        ),
        (
            _("A plan of work"),
            _(
                "proposes who does what on which day of the coming weeks, by what the work is worth less "
                "crews, driving and arrivals, and says why something was left. Accept the days you want; only "
                "then are there visits."
            ),
        ),
        (
            _("On the day"),
            _(
                "My day shows the stops in order, what to load, how to get in and what to mind. The crew "
                "records each task, then tells how the day went: hours, and what is left over."
            ),
        ),
        (
            _("Hours that were told"),
            _("teach the outputs, so that the next plan counts with what the crew really does."),
        ),
        (
            _("Bad weather:"),
            _(
                "“day unworkable” moves all of a day’s work to later days, and owners who were told are told "
                "anew."
            ),
        ),
        (
            _("Calendars"),
            _("of other programs can subscribe to a crew’s or a person’s visits by a secret address."),
        ),
    )


def signal() -> Chapter:
    """Recording where there is no signal."""
    return Chapter(
        "signal",
        _("Without signal"),
        (
            text(
                _(
                    "Everything a technician records is written to the phone first, then sent; only the answer of the "
                    "server takes it off the list. It is the same with signal and without."
                )
            ),
            points(
                (
                    _("Before you drive out,"),
                    _(
                        "open My day with signal. The phone keeps the visits of your crews from {behind} days back to "
                        "{ahead} days ahead with all their forms, and surfaces kept by “Keep on this phone”."
                    ).format(behind=PHONE_DAYS_BEHIND, ahead=PHONE_DAYS_AHEAD),
                ),
                (
                    _("The bar on top"),
                    _("tells how much waits. “On this phone” lists it: to send, sent, refused."),
                ),
                (
                    _("What was refused"),
                    _("says why. Open it, mend it, save it again; nothing else takes it away."),
                ),
                (
                    _("What was sent"),
                    _(
                        "stays on the phone for {days} days, and is sent again if the server was put back to an older "
                        "state."
                    ).format(days=PHONE_SENT_DAYS),
                ),
                (
                    _("The office"),
                    _(
                        "sees under “Phones” what waits on each. A phone that cannot send writes a copy that the "
                        "office takes in."
                    ),
                ),
                (
                    _("Do not"),
                    _("clear the browser’s data while something waits, and use no private window."),
                ),
            ),
        ),
    )
