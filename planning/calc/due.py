"""Work that falls due because a surface was built: plain dates in, the day and its reason out.

The first months of a surface, its joints among them, and the last test before a guarantee ends: common practice, no
source. Hours and days of cure are those of the construction checks, which name their sources.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import partial
from math import ceil
from types import MappingProxyType

from core.calc.choices import TextChoice
from core.calc.format import counted, day
from core.calc.months import months_after
from core.calc.paving import SurfaceType
from core.calc.translation import gettext as _
from maintenance.calc.vocabulary import Action

AHEAD = timedelta(days=60)  # what is due later than this need not be seen yet
YOUNG = timedelta(days=365)  # what was not recorded in the first year is not asked for after years
TOP_UP_MONTHS = 6
TEST_BEFORE_END = timedelta(days=30)
LAST_LOOK = timedelta(days=90)  # a test this near to the end of a guarantee tells how it ends
# Outside these nothing can be due by a surface's opening, or by the end of its guarantee; a few days are given for
# months of unlike length and for the date line.
SLACK = timedelta(days=5)
FIRST_TEST_SEEN = (
    -YOUNG - SLACK,
    AHEAD + SLACK,
)  # the opening, about today; the top-up so many months before
GUARANTEE_SEEN = (-TEST_BEFORE_END - SLACK, TEST_BEFORE_END + AHEAD + SLACK)
HOURS: Mapping[str, float] = MappingProxyType({"h": 1.0, "d": 24.0})

# Surfaces whose joints or openings are filled with loose stone, which settles under the first traffic.
JOINTED = frozenset({SurfaceType.PICP, SurfaceType.CLAY, SurfaceType.CONCRETE_GRID})


class DueKind(TextChoice):
    """What is due."""

    HOLD_POINT = "hold_point", "Correct a failed hold point"
    CURE = "cure", "Record the cure before opening"
    FIRST_TEST = "first_test", "First test"
    TOP_UP = "top_up", "Top up the joints"
    GUARANTEE = "guarantee", "Test before the guarantee ends"
    NOTICE = "notice", "Decide on the agreement"

    @property
    def work(self) -> Action | None:
        """What a crew goes out for; None for what is got done in another way."""
        return WORK.get(self)


# A failed hold point is the matter of who builds, the cure passes by itself, an agreement is decided on in the office.
WORK: Mapping[DueKind, Action] = MappingProxyType(
    {
        DueKind.FIRST_TEST: Action.TEST,
        DueKind.TOP_UP: Action.TOP_UP,
        DueKind.GUARANTEE: Action.TEST,
    }
)


@dataclass(frozen=True, slots=True)
class Due:
    """Something to do, the day by which, and why.

    say: gives the reason in the reader's language. Of the hundreds that a firm has due a page shows a few, so that
    the words are only made for those.
    """

    kind: DueKind
    on: date
    say: Callable[[], str] = field(compare=False)

    @property
    def why(self) -> str:
        """The reason, in the reader's language."""
        return self.say()


def hold_point_due(asked: str, failed_on: date, opens_on: date, today: date) -> Due:
    """The work stands since the day it failed; the opening presses."""
    return Due(DueKind.HOLD_POINT, failed_on, partial(_hold_point_words, asked, failed_on, opens_on, today))


def _hold_point_words(asked: str, failed_on: date, opens_on: date, today: date) -> str:
    left = (opens_on - today).days
    press = _("The surface was to open on {day}.").format(day=day(opens_on))
    if left > 0:
        ahead = _("The surface opens in {days}, on {day}.")
        press = ahead.format(days=counted(left, "day"), day=day(opens_on))
    why = _("Failed on {day}: {asked} What follows waits for it.").format(day=day(failed_on), asked=asked)
    return f"{why} {press}"


def cure_due(
    asked: str, least: float, unit: str, laid_on: date | None, opens_on: date, today: date
) -> Due | None:
    """From the day the course was laid so many hours or days pass before traffic.

    unit: h or d. laid_on: None where nobody recorded it; then the opening counts. None where it is not due yet, or
    the surface is open for long.
    """
    if not _is_young(opens_on, today):
        return None
    if laid_on is None:
        return _soon(Due(DueKind.CURE, opens_on, partial(_unknown_cure_words, asked)), today)
    until = laid_on + timedelta(days=ceil(least * HOURS[unit] / 24))
    needs = partial(_cure_words, asked, least, unit, laid_on, until, opens_on)
    return _soon(Due(DueKind.CURE, until, needs), today)


def _unknown_cure_words(asked: str) -> str:
    unknown = _("It is to be recorded before the opening.")
    return f"{asked} {unknown}"


def _cure_words(asked: str, least: float, unit: str, laid_on: date, until: date, opens_on: date) -> str:
    needs = _("At least {least} {unit} from {laid}, that is until {until}.")
    words = [asked, needs.format(least=f"{least:g}", unit=unit, laid=day(laid_on), until=day(until))]
    if until > opens_on:
        words.append(_("The opening on {day} is too early.").format(day=day(opens_on)))
    return " ".join(words)


def first_test_due(opened_on: date, today: date) -> Due | None:
    """For a surface without any test: at its opening, so that every later one has something to be compared with."""
    if not _is_young(opened_on, today):
        return None
    return _soon(
        Due(DueKind.FIRST_TEST, opened_on, partial(_first_test_words, opened_on, opened_on > today)), today
    )


def _first_test_words(opened_on: date, is_ahead: bool) -> str:
    why = _("Opened on {day} and has no test yet: the first one is what all later ones are compared with.")
    if is_ahead:
        why = _("Opens on {day} and has no test yet: the first one is what all later ones are compared with.")
    return why.format(day=day(opened_on))


def top_up_due(surface_type: str, opened_on: date, topped_up_on: date | None, today: date) -> Due | None:
    """Joints about half a year after the opening, while none was filled since. Common practice, no source."""
    on = months_after(opened_on, TOP_UP_MONTHS)
    filled = topped_up_on is not None and topped_up_on >= opened_on
    if surface_type not in JOINTED or filled or not _is_young(on, today):
        return None
    return _soon(Due(DueKind.TOP_UP, on, partial(_top_up_words, opened_on)), today)


def _top_up_words(opened_on: date) -> str:
    why = _(
        "Joint fill settles under the first traffic: about {months} months after the opening on {day} it is filled up "
        "(common practice)."
    )
    return why.format(months=TOP_UP_MONTHS, day=day(opened_on))


def guarantee_due(ends_on: date, last_tested_on: date | None, defects: int, today: date) -> Due | None:
    """A last test while the guarantee runs, with what was found within it."""
    tested = last_tested_on is not None and last_tested_on >= ends_on - LAST_LOOK
    if tested or today > ends_on + TEST_BEFORE_END:
        return None
    words = partial(_guarantee_words, ends_on, defects, ends_on < today)
    return _soon(Due(DueKind.GUARANTEE, ends_on - TEST_BEFORE_END, words), today)


def _guarantee_words(ends_on: date, defects: int, is_over: bool) -> str:
    why = _("The guarantee ends on {day}, with {defects} noted within it. A last test shows what holds.")
    if is_over:
        why = _("The guarantee ended on {day}, with {defects} noted within it. A last test shows what holds.")
    noted = counted(defects, "defect") if defects else _("no defects")
    return why.format(day=day(ends_on), defects=noted)


def notice_due(ends_on: date, notice_on: date, renews: bool, today: date) -> Due | None:
    """What is to be decided about an agreement before its term ends."""
    if renews and today > notice_on:
        return None
    words = partial(_notice_words, ends_on, notice_on, renews, ends_on < today)
    return _soon(Due(DueKind.NOTICE, notice_on, words), today)


def _notice_words(ends_on: date, notice_on: date, renews: bool, is_over: bool) -> str:
    if renews:
        why = _("It renews by itself for a year after {day}, unless notice is given by {notice}.")
    elif is_over:
        why = _("It ended on {day} and does not renew by itself; nothing it asks for falls due after that.")
    else:
        why = _("It ends on {day} and does not renew by itself; nothing it asks for falls due after that.")
    return why.format(day=day(ends_on), notice=day(notice_on))


def _is_young(on: date, today: date) -> bool:
    return today - on <= YOUNG


def _soon(due: Due, today: date) -> Due | None:
    return due if due.on - today <= AHEAD else None
