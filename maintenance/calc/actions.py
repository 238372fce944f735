"""From forecast to action: when to test, when to clean, with what.

Plain numbers and dates in, advice with its reasons out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from core.calc.paving import CleaningMethod
from maintenance.calc.suitability import RESTORING, ROUTINE
from maintenance.calc.text import day, rate, share
from maintenance.calc.vocabulary import Action, SurfaceState
from maintenance.calc.windows import Climate, Window, cleaning_window, testing_window

DAYS_A_YEAR = 365.25
SOON_DAYS = 182
WATCH_DAYS = 365
RECENT_TEST_DAYS = 182
SURE_SHARE = 0.90
TEST_AFTER_CLEANING_DAYS = 30
FARTHEST_DAYS = 100 * DAYS_A_YEAR  # what is agreed less often than once a century is not agreed
KEEPS_OPEN = (
    CleaningMethod.VACUUM,
    CleaningMethod.REGEN_AIR,
    CleaningMethod.WASH_VACUUM,
    CleaningMethod.BROOM,
)

Dated = tuple[date, str]


@dataclass(frozen=True, slots=True)
class Levels:
    """The firm's choices: chances that trigger a test and a cleaning, and how long a cleaning should last."""

    alert_share: float = 0.10
    action_share: float = 0.50
    wished_months: int = 12
    wished_share: float = 0.80


@dataclass(frozen=True, slots=True)
class AgreedCare:
    """What the owner bought: tests and cleanings a year, from a day on (None: since the opening)."""

    tests_per_year: float = 0.0
    cleanings_per_year: float = 0.0
    since: date | None = None


@dataclass(frozen=True, slots=True)
class SurfaceStatus:
    """One surface today.

    alert_on, action_on: first days when the chance of being below the limit reaches the firm's levels;
    None: not within the forecast.
    """

    today: date
    opened_on: date
    limit_mm_h: float
    rate_now_mm_h: float
    share_below_now: float
    alert_on: date | None
    action_on: date | None
    last_tested_on: date | None
    last_cleaned_on: date | None
    agreed: AgreedCare = field(default_factory=AgreedCare)
    climate: Climate = field(default_factory=Climate)


@dataclass(frozen=True, slots=True)
class Option:
    """What one method would do if it were used now."""

    method: CleaningMethod
    rate_after_mm_h: float
    years_until_limit: float | None
    share_staying_above: float
    cost: Decimal
    cost_per_year: Decimal | None


Choice = tuple[Action, Option | None, str]


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to do. Reasons are sentences for `text.speak`."""

    action: Action
    window: Window
    reasons: tuple[str, ...]
    option: Option | None = None


def state_of(s: SurfaceStatus, levels: Levels) -> SurfaceState:
    """What a person is told of the surface."""
    if s.last_tested_on is None:
        return SurfaceState.NOT_TESTED
    if s.share_below_now >= 0.5:
        return SurfaceState.BELOW_LIMIT
    if _within(s.action_on, s.today, SOON_DAYS):
        return SurfaceState.CLEAN_SOON
    if _within(s.alert_on, s.today, WATCH_DAYS):
        return SurfaceState.WATCH
    return SurfaceState.DRAINING


def advise(s: SurfaceStatus, levels: Levels, options: Sequence[Option]) -> list[Advice]:
    """What to do with one surface, most pressing first; empty when nothing is due within the forecast."""
    found = [_test_advice(s, levels)]
    if not _test_comes_first(s):
        found.append(_cleaning_advice(s, levels, options))
    return sorted((a for a in found if a), key=lambda a: a.window.due)


def _test_advice(s: SurfaceStatus, levels: Levels) -> Advice | None:
    dated = sorted(_test_reasons(s, levels))
    if not dated:
        return None
    window = testing_window(dated[0][0], s.today, s.climate)
    return Advice(Action.TEST, window, _texts(dated, window))


def _test_reasons(s: SurfaceStatus, levels: Levels) -> list[Dated]:
    if s.last_tested_on is None:
        return [
            (
                max(s.opened_on, s.today),
                "It was never tested: the forecast is based on similar surfaces only.",
            )
        ]
    reasons = [
        *_agreed(s, s.last_tested_on, s.agreed.tests_per_year, "test rounds"),
        *_reached(s, s.alert_on, levels.alert_share),
    ]
    if s.last_cleaned_on and s.last_cleaned_on > s.last_tested_on:
        due = s.last_cleaned_on + timedelta(days=TEST_AFTER_CLEANING_DAYS)
        text = f"It was cleaned on {day(s.last_cleaned_on)} and not tested since: a test shows what the cleaning gave."
        reasons.append((due, text))
    if _test_comes_first(s):
        text = (
            f"Test first: the result decides whether to clean. The last test is of {day(s.last_tested_on)}, "
            "and cleaning costs more."
        )
        reasons.append((s.today, text))
    return [reason for reason in reasons if not _just_answered(reason[0], s)]


def _just_answered(due: date, s: SurfaceStatus) -> bool:
    """A test of the last two months answers what was due by now; the next one is a matter of the calendar."""
    return s.last_tested_on is not None and (s.today - s.last_tested_on).days < 60 and due <= s.today


def _test_comes_first(s: SurfaceStatus) -> bool:
    """A cleaning is due, but on an old test and with real doubt: a test costs less than a cleaning in vain."""
    if s.last_tested_on is None:
        return True
    due = s.action_on is not None and s.action_on <= s.today
    old = (s.today - s.last_tested_on).days > RECENT_TEST_DAYS
    return due and old and s.share_below_now < SURE_SHARE


def _cleaning_advice(s: SurfaceStatus, levels: Levels, options: Sequence[Option]) -> Advice | None:
    needed = (
        _reached(s, s.action_on, levels.action_share) if _within(s.action_on, s.today, WATCH_DAYS) else []
    )
    agreed = _agreed(
        s,
        s.last_cleaned_on or s.opened_on,
        s.agreed.cleanings_per_year,
        "cleanings",
        s.last_cleaned_on is None,
    )
    if agreed and not (needed and _soon_after(needed[0][0], agreed[0][0], s.today)):
        return _cleaning_piece(s, [*agreed, *needed], keep_open(options, near=bool(needed)))
    return _cleaning_piece(s, [*needed, *agreed], choose(options, levels)) if needed else None


def _soon_after(needed: date, agreed: date, today: date) -> bool:
    """The forecast asks for more than sweeping so soon that the agreed cleaning is better that one."""
    return _within(needed, max(agreed, today), SOON_DAYS)


def _cleaning_piece(s: SurfaceStatus, dated: Sequence[Dated], choice: Choice) -> Advice:
    action, option, why = choice
    window = cleaning_window(dated[0][0], s.today, s.climate)
    return Advice(action, window, (*_texts(dated, window), why), option)


def _agreed(s: SurfaceStatus, last: date, per_year: float, what: str, never: bool = False) -> list[Dated]:
    if per_year <= 0 or DAYS_A_YEAR / per_year > FARTHEST_DAYS:
        return []
    due = max(last + timedelta(days=round(DAYS_A_YEAR / per_year)), s.agreed.since or last)
    so_far = "none is recorded yet" if never else f"the last was on {day(last)}"
    asked = f"1 {what.removesuffix('s')}" if per_year == 1 else f"{per_year:g} {what}"
    return [(due, f"The agreement asks for {asked} a year; {so_far}.")]


def _reached(s: SurfaceStatus, on: date | None, level: float) -> list[Dated]:
    if on is None:
        return []
    below = f"The chance of being below the limit of {rate(s.limit_mm_h)}"
    if on <= s.today:
        now = f"{share(s.share_below_now)} on {day(s.today)}"
        return [(on, f"{below} is {now}; {share(level)} triggers it.")]
    return [(on, f"{below} reaches {share(level)} by {day(on)}.")]


def keep_open(options: Sequence[Option], near: bool = False) -> Choice:
    """The agreed cleaning of a surface above its limit: sweeping that lifts fines, else the gentlest.

    near: the forecast asks for more within the year, though not yet.
    """
    by_method = {option.method: option for option in options}
    found = next((by_method[m] for m in KEEPS_OPEN if m in by_method), None)
    if found is None:
        return (
            Action.CLEAN,
            None,
            "No ordinary sweeping is offered for this surface; see the methods and prices of the firm.",
        )
    outlook = (
        "something stronger is not due yet" if near else "nothing stronger is needed so far above the limit"
    )
    return Action.CLEAN, found, f"{found.method.label} keeps it open; {outlook}."


def choose(options: Sequence[Option], levels: Levels) -> Choice:
    """The cheapest method that lasts as long as wished; else restoring; else have it looked at.

    Returns the action, the option, and why it was taken.
    """
    routine = _cheapest(options, ROUTINE, levels)
    if routine:
        return Action.CLEAN, routine, _why(routine, levels)
    restoring = _cheapest(options, RESTORING, levels)
    if restoring:
        return (
            Action.REJOINT,
            restoring,
            f"No ordinary cleaning is expected to last long enough. {_why(restoring, levels)}",
        )
    why = (
        f"No method offered keeps it above the limit for {levels.wished_months} months with a chance of "
        f"{share(levels.wished_share)}. Have a licensed engineer inspect the surface and what drains onto it."
    )
    return Action.LOOK, None, why


def _cheapest(options: Sequence[Option], methods: Sequence[CleaningMethod], levels: Levels) -> Option | None:
    good = [
        o
        for o in options
        if o.method in methods
        and o.share_staying_above >= levels.wished_share
        and o.cost_per_year is not None
    ]
    return min(good, key=lambda o: (o.cost_per_year, o.cost), default=None)


def _why(option: Option, levels: Levels) -> str:
    return (
        f"{option.method.label} is the cheapest for each year within the limit: "
        f"{share(option.share_staying_above)} chance of staying above it for {levels.wished_months} months, "
        f"about {rate(option.rate_after_mm_h)} afterwards."
    )


def _texts(dated: Sequence[Dated], window: Window) -> tuple[str, ...]:
    """The deciding reason and those that follow it within a year, and why the day was moved."""
    texts = tuple(text for on, text in dated if (on - dated[0][0]).days <= WATCH_DAYS)
    return (*texts, f"The day was {window.reason}.") if window.reason else texts


def _within(on: date | None, today: date, days: int) -> bool:
    return on is not None and (on - today).days <= days
