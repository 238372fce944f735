"""What the tool is for, who does what, and the first hour."""

from accounts.calc.roles import Role
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from qa.presentation import disclaimers
from reporting.calc.first_steps import OPTIONAL, StepKey
from reporting.presentation.first_steps import WHY
from reporting.presentation.handbook.blocks import Chapter, caution, points, steps, table, text, title

_MAY = {
    Role.VIEWER: ("Reads everything of the firm and changes nothing.", "Accountant, partner, trainee"),
    Role.TECHNICIAN: (
        "Records tests, cleanings, inspections, construction checks, soil tests and sieve analyses; begins with My "
        "day.",
        "Crew on site",
    ),
    Role.COORDINATOR: (
        "Registers owners, sites and surfaces; decides on advice; plans visits; writes quotes, agreements and prices; "
        "sends reports; answers owners.",
        "Office",
    ),
    Role.ADMIN: (
        "Invites people, sets what holds for the whole firm, takes data in and everything out, makes tokens for "
        "programs.",
        "Head of the firm",
    ),
}
_MEANS = {
    SurfaceState.NOT_TESTED: "No test is recorded, so that the forecast rests on similar surfaces alone. Test it.",
    SurfaceState.DRAINING: "The limit is far. Keep to the plan.",
    SurfaceState.WATCH: "Within a year the chance of being below its limit may reach one in ten.",
    SurfaceState.CLEAN_SOON: "One in ten already, or likely at its limit within half a year.",
    SurfaceState.BELOW_LIMIT: "As likely below its limit as above it, or more.",
}


def aim() -> Chapter:
    """What it is, and what it is not."""
    return Chapter(
        "aim",
        "What it is for",
        (
            text(
                "Permeable paving drains on the day it is laid. Sediment then fills its joints and pores, year by "
                "year, until water stands. Rainthrough keeps the record that a surface was built to drain, takes its "
                "tests by the standard, learns from all of a firm's tests how fast surfaces clog, says for each one "
                "how fast it drains today and when it is likely to reach its limit, compares what each way of "
                "cleaning gives and costs, plans the visits, and reports to owners and authorities."
            ),
            points(
                ("Nothing is done by itself.", "Advice waits until somebody plans, puts off or declines it."),
                (
                    "Nothing is lost.",
                    "What was recorded is never overwritten: it is corrected or set aside with a reason, and stays "
                    "readable.",
                ),
                (
                    "Every word that is not plain",
                    "opens its meaning where it stands; all of them are in the last chapter. Figures open as a formula "
                    "with their own numbers under “How is … computed?”.",
                ),
            ),
            caution(disclaimers.AID_ONLY),
            title("Where a surface stands"),
            text("Every list shows each surface by one of these words, worst first."),
            table(
                ("State", "What it means"),
                tuple((state.label, _MEANS[state]) for state in WORST_FIRST),
                "States of a surface",
            ),
        ),
    )


def people() -> Chapter:
    """Roles in the firm, and those outside."""
    rows = tuple((role.label, *_MAY[role]) for role in Role if role in _MAY)
    return Chapter(
        "people",
        "Who does what",
        (
            text(
                "A person has one role in a firm, and each role may do what those above it in this table may."
            ),
            table(("Role", "May", "Usually"), rows, "Roles in a firm"),
            points(
                (
                    "Owners’ people",
                    "are invited at the owner’s page. They read their own sites and reports, answer quotes and ask "
                    "questions; of advice they see what the office has released, and no cost of the firm.",
                ),
                (
                    "Authorities and inspectors",
                    "get a secret link to one document, or to the tests and works of some sites, for as long as the "
                    "office says. It needs no account, and every opening is listed.",
                ),
                (
                    "What concerns you",
                    "is counted under “Told” at the head of every page, and comes once a day by mail. “Choose what you "
                    "are told” in your details says what, how and at which hour.",
                ),
                (
                    "Several firms:",
                    "one person may belong to more than one, and switches at the top of the page.",
                ),
            ),
        ),
    )


def first_hour() -> Chapter:
    """The steps of a new firm."""
    return Chapter(
        "first-hour",
        "The first hour",
        (
            text(
                "Set up the firm with its name and country, which give the time zone, the months of frost and the "
                "currency. Then “First steps” leads on; it stands on the first page until there is a forecast, and "
                "under Firm."
            ),
            steps(*((f"{key.label}.", f"{WHY[key]}{_later(key)}") for key in StepKey)),
            text(
                "All of it in spreadsheets already? Take them in together under Firm, “Take in spreadsheets”. Every "
                "row is checked, and nothing is stored before all of them are right."
            ),
        ),
    )


def _later(key: StepKey) -> str:
    return " Can wait." if key in OPTIONAL else ""
