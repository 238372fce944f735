"""Owners and authorities, data in and out, backups, and what can hurt."""

from core.calc.format import fixed
from core.calc.promised import SHEET_MOST_MB, SHEET_MOST_ROWS
from core.calc.translation import gettext as _
from qa.presentation import disclaimers
from reporting.presentation.handbook.blocks import Block, Chapter, caution, points, text


def owners() -> Chapter:
    """What is given to owners and authorities."""
    return Chapter(
        "owners",
        _("Owners and authorities"),
        (
            text(
                _(
                    "They read the same record as you, without your costs and notes. What advice they see, the office "
                    "releases."
                )
            ),
            _what_they_get(),
        ),
    )


def _what_they_get() -> Block:
    """Documents, links, quotes, questions, sources."""
    return points(
        (
            _("Report of a site:"),
            _(
                "how each surface stands, what changed, what is asked of the owner. Keep one as it stands, "
                "send it by mail, or have it made by itself once or several times a year."
            ),
        ),
        (
            _("Handover record:"),
            _("what was built and checked, with the acceptance test, for each surface."),
        ),
        (
            _("Test certificate:"),
            _("one round with its readings and deviations. It is unsigned and certifies nothing."),
        ),
        (
            _("Secret links"),
            _(
                "open one document, or the tests and works of some sites for an inspector, until the day you "
                "set. Revoke one and it opens no more; openings are listed."
            ),
        ),
        (
            _("Quotes"),
            _("are made from advice or by hand, sent, and answered online or written down by the office."),
        ),
        (
            _("Questions"),
            _("that owners ask at a surface wait on your first page until they are answered or settled."),
        ),
        (
            _("Sources"),
            _(
                "behind limits and tests are named in every document. Mark under Firm, “Sources”, what you "
                "have held against the current edition; the rest is listed as not checked."
            ),
        ),
    )


def data() -> Chapter:
    """Data in and out, and backups."""
    return Chapter(
        "data",
        _("Data in and out, and backups"),
        (
            points(
                (
                    _("In:"),
                    _(
                        "spreadsheets of up to {size} MB and {rows} rows. Match the columns once, look through every "
                        "remark, then take everything in or nothing. Sent again, nothing is made twice."
                    ).format(size=SHEET_MOST_MB, rows=fixed(SHEET_MOST_ROWS, 0, parted=True)),
                ),
                (
                    _("Rain"),
                    _(
                        "of a gauge is taken in as a table, and tells how dry a test day was and what soaked in."
                    ),
                ),
                (_("Out:"), _("each list as spreadsheet or CSV as it is filtered; each document as a PDF.")),
                (
                    _("Everything:"),
                    _(
                        "“Take everything away” under Firm packs all records with photos and files into one archive of "
                        "open formats. It comes back into a firm without records."
                    ),
                ),
                (
                    _("Programs"),
                    _(
                        "read and record with a token that an admin makes; what they may do is described under Firm, "
                        "“Programs that read and record”."
                    ),
                ),
            ),
            text(
                _(
                    "Backups are the task of whoever runs the server. The command “manage.py backup” makes a whole one "
                    "while the server runs. Keep it on another machine, where few can read it; check it with “restore "
                    "--check”, and try it once into an empty folder before you need it. The archive above is no "
                    "substitute: passwords, sessions and links are not in it."
                )
            ),
        ),
    )


def safety() -> Chapter:
    """What can hurt somebody, in one place."""
    return Chapter(
        "safety",
        _("What can hurt"),
        (
            text(
                _(
                    "This tool records and advises; it does not know the place. The firm’s own safety instructions, "
                    "the product’s data sheets, local codes and licensed practice prevail over every line here."
                )
            ),
            _dangers(),
            caution(_(disclaimers.SETBACKS), _(disclaimers.AID_ONLY)),
        ),
    )


def _dangers() -> Block:
    """Each danger with what keeps from it."""
    return points(
        (
            _("Traffic:"),
            _(
                "close the lane or the bay before anybody kneels on it, with the signs and permits that local "
                "rules ask. High-visibility clothing; somebody watches."
            ),
        ),
        (
            _("Silica dust:"),
            _(
                "cutting, milling and blowing out joints of concrete, stone and clay set it free. Wet cutting "
                "or suction at the tool, masks that fit, nobody downwind."
            ),
        ),
        (
            _("Pressure and suction:"),
            _("a jet cuts skin and throws stones. Eye, ear and foot protection; never point it at people."),
        ),
        (
            _("Hot works and resins:"),
            _(
                "hot asphalt, torches and resins burn, and resins may sensitise skin and lungs. Follow permits "
                "and data sheets, keep an extinguisher, air closed places."
            ),
        ),
        (
            _("Below ground:"),
            _(
                "locate utilities before digging, coring, anchoring or lifting; shore excavations; no entry to "
                "wells, catch basins or tanks without a permit and a second person."
            ),
        ),
        (
            _("Lifting:"),
            _("water for a round, pavers and rings are heavy: two people, or a machine."),
        ),
        (
            _("Water and waste:"),
            _(
                "what is sucked out may be controlled waste. Keep wash water out of drains and the record of "
                "where it went."
            ),
        ),
        (_("Weather:"), _("no work on ice, in lightning, or in heat without shade and water.")),
    )
