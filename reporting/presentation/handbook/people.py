"""What the tool is for, who does what, and the first hour."""

from accounts.calc.roles import Role
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, pgettext
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from qa.presentation import disclaimers
from reporting.calc.first_steps import OPTIONAL, StepKey
from reporting.presentation.first_steps import WHY
from reporting.presentation.handbook.blocks import Chapter, caution, points, steps, table, text, title

_MAY = {
    Role.VIEWER: (
        gettext_noop("Reads everything of the firm and changes nothing."),
        gettext_noop("Accountant, partner, trainee"),
    ),
    Role.TECHNICIAN: (
        gettext_noop(
            "Records tests, cleanings, inspections, construction checks, soil tests and sieve analyses; begins with My "
            "day."
        ),
        gettext_noop("Crew on site"),
    ),
    Role.COORDINATOR: (
        gettext_noop(
            "Registers owners, sites and surfaces; decides on advice; plans visits; writes quotes, agreements and "
            "prices; sends reports; answers owners."
        ),
        gettext_noop("Office"),
    ),
    Role.ADMIN: (
        gettext_noop(
            "Invites people, sets what holds for the whole firm, takes data in and everything out, makes tokens for "
            "programs."
        ),
        gettext_noop("Head of the firm"),
    ),
}
_MEANS = {
    SurfaceState.NOT_TESTED: gettext_noop(
        "No test is recorded, so that the forecast rests on similar surfaces alone. Test it."
    ),
    SurfaceState.DRAINING: gettext_noop("The limit is far. Keep to the plan."),
    SurfaceState.WATCH: gettext_noop(
        "Within a year the chance of being below its limit may reach one in ten."
    ),
    SurfaceState.CLEAN_SOON: gettext_noop("One in ten already, or likely at its limit within half a year."),
    SurfaceState.BELOW_LIMIT: gettext_noop("As likely below its limit as above it, or more."),
}


def aim() -> Chapter:
    """What it is, and what it is not."""
    return Chapter(
        "aim",
        _("What it is for"),
        (
            text(
                _(
                    "Permeable paving drains on the day it is laid. Sediment then fills its joints and pores, year by "
                    "year, until water stands. Rainthrough keeps the record that a surface was built to drain, takes "
                    "its tests by the standard, learns from all of a firm's tests how fast surfaces clog, says for "
                    "each one how fast it drains today and when it is likely to reach its limit, compares what each "
                    "way of cleaning gives and costs, plans the visits, and reports to owners and authorities."
                )
            ),
            points(
                (
                    _("Nothing is done by itself."),
                    _("Advice waits until somebody plans, puts off or declines it."),
                ),
                (
                    _("Nothing is lost."),
                    _(
                        "What was recorded is never overwritten: it is corrected or set aside with a reason, and stays "
                        "readable."
                    ),
                ),
                (
                    _("Every word that is not plain"),
                    _(
                        "opens its meaning where it stands; all of them are in the last chapter. Figures open as a "
                        "formula with their own numbers under “How is … computed?”."
                    ),
                ),
            ),
            caution(_(disclaimers.AID_ONLY)),
            title(_("Where a surface stands")),
            text(_("Every list shows each surface by one of these words, worst first.")),
            table(
                (_("State"), _("What it means")),
                tuple((state.label, _(_MEANS[state])) for state in WORST_FIRST),
                _("States of a surface"),
            ),
        ),
    )


def people() -> Chapter:
    """Roles in the firm, and those outside."""
    rows = tuple((role.label, *map(_, _MAY[role])) for role in Role if role in _MAY)
    return Chapter(
        "people",
        _("Who does what"),
        (
            text(
                _(
                    "A person has one role in a firm, and each role may do what those above it in this table may."
                )
            ),
            table((_("Role"), pgettext("of a role", "May"), _("Usually")), rows, _("Roles in a firm")),
            points(
                (
                    _("Owners’ people"),
                    _(
                        "are invited at the owner’s page. They read their own sites and reports, answer quotes and ask "
                        "questions; of advice they see what the office has released, and no cost of the firm."
                    ),
                ),
                (
                    _("Authorities and inspectors"),
                    _(
                        "get a secret link to one document, or to the tests and works of some sites, for as long as "
                        "the office says. It needs no account, and every opening is listed."
                    ),
                ),
                (
                    _("What concerns you"),
                    _(
                        "is counted under “Told” at the head of every page, and comes once a day by mail. “Choose what "
                        "you are told” in your details says what, how and at which hour."
                    ),
                ),
                (
                    _("Several firms:"),
                    _("one person may belong to more than one, and switches at the top of the page."),
                ),
            ),
        ),
    )


def first_hour() -> Chapter:
    """The steps of a new firm."""
    return Chapter(
        "first-hour",
        _("The first hour"),
        (
            text(
                _(
                    "Set up the firm with its name and country, which give the time zone, the months of frost and the "
                    "currency. Then “First steps” leads on; it stands on the first page until there is a forecast, and "
                    "under Firm."
                )
            ),
            steps(*((f"{key.label}.", f"{_(WHY[key])}{_later(key)}") for key in StepKey)),
            text(
                _(
                    "All of it in spreadsheets already? Take them in together under Firm, “Take in spreadsheets”. "
                    "Every row is checked, and nothing is stored before all of them are right."
                )
            ),
        ),
    )


def _later(key: StepKey) -> str:
    return " " + _("Can wait.") if key in OPTIONAL else ""
