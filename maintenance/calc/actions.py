"""From what a surface needs to what people are advised to do: when to test, when to clean, with what, and why.

Plain numbers and dates in, advice with its reasons out. What pays is worked out in `maintenance.calc.deciding`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from core.calc.paving import CleaningMethod
from core.calc.translation import gettext_noop
from maintenance.calc.agreed import CLEANINGS, TEST_ROUNDS, AgreedWork
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.suitability import RESTORING
from maintenance.calc.text import day, method, money, rate, rival, share, work
from maintenance.calc.vocabulary import Action, SurfaceState
from maintenance.calc.windows import Climate, Window, cleaning_window, testing_window

DAYS_A_YEAR = 365.25
SOON_DAYS = 182
WATCH_DAYS = 365
SURE_SHARE = 0.90
NO_DOUBT = 0.99  # a test would hardly change it
WATCH_SHARE, LIKELY_SHARE = 0.10, 0.50  # chances of being below the limit that a state is told by
STAY_MONTHS = 12  # how long the comparison of methods asks a cleaning to last
FARTHEST_DAYS = 100 * DAYS_A_YEAR  # what is agreed less often than once a century is not agreed
MOST_RIVALS = 2
KEEPS_OPEN = (
    CleaningMethod.VACUUM,
    CleaningMethod.REGEN_AIR,
    CleaningMethod.WASH_VACUUM,
    CleaningMethod.BROOM,
)

Dated = tuple[date, str]


@dataclass(frozen=True, slots=True)
class AgreedCare:
    """What the owner bought: tests and cleanings a year, from a day on (None: since the opening)."""

    tests_per_year: float = 0.0
    cleanings_per_year: float = 0.0
    since: date | None = None


@dataclass(frozen=True, slots=True)
class SurfaceStatus:
    """One surface today.

    below_10_on, below_50_on: first days when the chance of being below the limit reaches that; None: not within the
    forecast.
    """

    today: date
    opened_on: date
    limit_mm_h: float
    rate_now_mm_h: float
    share_below_now: float
    below_10_on: date | None
    below_50_on: date | None
    last_tested_on: date | None
    last_cleaned_on: date | None
    agreed: AgreedCare = field(default_factory=AgreedCare)
    climate: Climate = field(default_factory=Climate)


@dataclass(frozen=True, slots=True)
class Option:
    """What one method would do if it were used once, on the day methods are compared for."""

    method: CleaningMethod
    rate_after_mm_h: float
    years_until_limit: float | None
    share_staying_above: float
    cost: Decimal
    cost_per_year: Decimal | None


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to do. Reasons are sentences for `text.speak`.

    is_agreed: asked for by the agreement alone, not needed by the surface; wants_word: a person is to decide it
    saves: money against waiting, its price counted, where it was compared; restores: a restoration hangs on it
    waiting_costs, crew_hours, chance: of being below today, told by `maintenance.calc.waiting`
    """

    action: Action
    window: Window
    reasons: tuple[str, ...]
    option: Option | None = None
    is_agreed: bool = False
    wants_word: bool = False
    saves: Decimal | None = None
    restores: bool = False
    waiting_costs: Decimal = Decimal(0)
    crew_hours: float = 0.0
    chance: float | None = None


def state_of(s: SurfaceStatus) -> SurfaceState:
    """What a person is told of the surface, by the same chances everywhere: a higher one never stands better."""
    if s.last_tested_on is None:
        return SurfaceState.NOT_TESTED
    if s.share_below_now >= LIKELY_SHARE:
        return SurfaceState.BELOW_LIMIT
    if s.share_below_now >= WATCH_SHARE or _within(s.below_50_on, s.today, SOON_DAYS):
        return SurfaceState.CLEAN_SOON
    if _within(s.below_10_on, s.today, WATCH_DAYS):
        return SurfaceState.WATCH
    return SurfaceState.DRAINING


def advise(s: SurfaceStatus, needs: Needs, options: Sequence[Option]) -> list[Advice]:
    """What to do with one surface, most pressing first; empty when nothing is due within the coming year.

    What the surface needs comes first; what was agreed besides is said to be that. Never a test and a cleaning that
    hangs on it together.
    """
    test = _test_needed(s, needs)
    cleaning = None if s.last_tested_on is None or test else _cleaning_needed(s, needs, options)
    look = _look(s, needs) if not (test or cleaning) else None
    treatment = cleaning or look or _agreed_cleaning(s, needs, options, test)
    found = [test or _agreed_test(s), treatment]
    return sorted((piece for piece in found if piece), key=lambda piece: piece.window.due)


def _test_needed(s: SurfaceStatus, needs: Needs) -> Advice | None:
    if s.last_tested_on is None:
        why = gettext_noop("It was never tested: the forecast is based on similar surfaces only.")
        return _test_piece(s, max(s.opened_on, s.today), (why,))
    need = needs.cleaning
    if need and need.wants_fresh_test:
        return _test_piece(s, need.on, _fresh(need, needs, s.last_tested_on), restores=True)
    if need is None and s.share_below_now >= NO_DOUBT:
        return None
    if not needs.test_is_worth_it or needs.test_on is None or (need and need.chance > NO_DOUBT):
        return None
    if need and needs.test_on > need.on:  # what is done first answers it
        return None
    restores = need is not None and need.best.method in RESTORING
    return _test_piece(s, needs.test_on, _in_doubt(need, needs, s.last_tested_on), restores=restores)


def _test_piece(s: SurfaceStatus, on: date, reasons: tuple[str, ...], *, restores: bool = False) -> Advice:
    window = testing_window(on, s.today, s.climate)
    return Advice(Action.TEST, window, (*reasons, *_moved(window)), restores=restores)


def _fresh(need: CleaningNeed, needs: Needs, last: date) -> tuple[str, ...]:
    said = gettext_noop(
        "Test first: {work1} would pay, but it rests on the test of {day1}. "
        "A restoration above {money1} always waits for a fresh test and a person's word."
    )
    above = money(needs.ask_first, needs.currency)
    return (
        said.format(work1=_named(need.best, needs), day1=day(last), money1=above),
        *_compared(need, needs),
    )


def _in_doubt(need: CleaningNeed | None, needs: Needs, last: date) -> tuple[str, ...]:
    """Why a test now: what its result would decide, and what tests save in all."""
    reasons = [_result_would_decide(need, needs, last)]
    if needs.test_saves is not None:
        said = gettext_noop(
            "Compared over ten years with never testing, tests when due save {money1}, their price counted."
        )
        reasons.append(said.format(money1=money(needs.test_saves, needs.currency)))
    return tuple(reasons)


def _result_would_decide(need: CleaningNeed | None, needs: Needs, last: date) -> str:
    if needs.acts_below_mm_h is None:
        return gettext_noop("The last test is of {day1}.").format(day1=day(last))
    if need is None:
        said = gettext_noop(
            "The last test is of {day1}. A result below {rate1} calls for cleaning, one above lets it wait."
        )
        return said.format(day1=day(last), rate1=rate(needs.acts_below_mm_h))
    said = gettext_noop(
        "The last test is of {day1}. A result below {rate1} calls for cleaning, one above lets it wait: {work1} "
        "would be next."
    )
    return said.format(day1=day(last), rate1=rate(needs.acts_below_mm_h), work1=_named(need.best, needs))


def _cleaning_needed(s: SurfaceStatus, needs: Needs, options: Sequence[Option]) -> Advice | None:
    need = needs.cleaning
    if need is None:
        return None
    restores = need.best.method in RESTORING
    window = cleaning_window(need.on, s.today, s.climate, need.hours, need.best.method)
    word = restores and need.best.price > needs.ask_first
    reasons = (_pays(need, needs), *_compared(need, needs), _at_risk(s, need, needs))
    return Advice(
        Action.REJOINT if restores else Action.CLEAN,
        window,
        (*reasons, *(_person_decides(needs) if word else ()), *_moved(window)),
        next((option for option in options if option.method is need.best.method), None),
        wants_word=word,
        saves=need.best.saves,
        restores=restores,
    )


def _pays(need: CleaningNeed, needs: Needs) -> str:
    said = gettext_noop(
        "{work1} saves {money1} against waiting, its price and all later work, tests and time below the limit counted."
    )
    return said.format(work1=_named(need.best, needs), money1=money(need.best.saves, needs.currency))


def _at_risk(s: SurfaceStatus, need: CleaningNeed, needs: Needs) -> str:
    said = gettext_noop(
        "The chance of being below the limit of {rate1} is {share1} on {day1}; a year below it counts as {money1} here."
    )
    year = money(needs.year_below, needs.currency)
    # Of today the chance that every page tells: the one weighed rests on the fitted shape alone.
    chance = s.share_below_now if need.on <= s.today else need.chance
    return said.format(rate1=rate(s.limit_mm_h), share1=share(chance), day1=day(need.on), money1=year)


def _person_decides(needs: Needs) -> tuple[str]:
    said = gettext_noop("It costs more than {money1}: a person decides.")
    return (said.format(money1=money(needs.ask_first, needs.currency)),)


def _compared(need: CleaningNeed, needs: Needs) -> tuple[str, ...]:
    """What the best was compared with."""
    told = [_against(other, needs) for other in need.rivals[:MOST_RIVALS]]
    if not told:
        return ()
    if len(told) == 1:
        return (gettext_noop("Compared with it: {rival1}.").format(rival1=told[0]),)
    return (gettext_noop("Compared with it: {rival1}; {rival2}.").format(rival1=told[0], rival2=told[1]),)


def _against(other: Rival, needs: Needs) -> str:
    return rival(other.method, other.price, other.saves, needs.currency)


def _named(best: Rival, needs: Needs) -> str:
    return work(best.method, best.price, needs.currency)


def _look(s: SurfaceStatus, needs: Needs) -> Advice | None:
    """Below its limit, and nothing offered is worth its price."""
    if s.last_tested_on is None or s.share_below_now < LIKELY_SHARE:
        return None
    below = gettext_noop("The chance of being below the limit of {rate1} is {share1} on {day1}.").format(
        rate1=rate(s.limit_mm_h), share1=share(s.share_below_now), day1=day(s.today)
    )
    return Advice(Action.LOOK, Window(s.today, s.today), (below, _nothing_pays(needs)))


def _nothing_pays(needs: Needs) -> str:
    if needs.nearest is None:
        return gettext_noop(
            "No method is offered for it. Have a licensed engineer inspect the surface and what drains onto it."
        )
    said = gettext_noop(
        "No method offered pays: {rival1}, a year below the limit counted as {money1}. Have a licensed engineer "
        "inspect the surface and what drains onto it."
    )
    return said.format(rival1=_against(needs.nearest, needs), money1=money(needs.year_below, needs.currency))


def _agreed_test(s: SurfaceStatus) -> Advice | None:
    if s.last_tested_on is None:
        return None
    dated = _agreed(s, s.last_tested_on, s.agreed.tests_per_year, TEST_ROUNDS)
    if dated is None or (dated[0] <= s.today and (s.today - s.last_tested_on).days < 60):
        return None
    window = testing_window(dated[0], s.today, s.climate)
    why = gettext_noop("The agreement asks for it; the surface would not need it now.")
    return Advice(Action.TEST, window, (dated[1], why, *_moved(window)), is_agreed=True)


def _agreed_cleaning(
    s: SurfaceStatus, needs: Needs, options: Sequence[Option], test: Advice | None
) -> Advice | None:
    """The agreed sweeping, which keeps the surface open; none beside a test that decides on more."""
    dated = _agreed(
        s,
        s.last_cleaned_on or s.opened_on,
        s.agreed.cleanings_per_year,
        CLEANINGS,
        s.last_cleaned_on is None,
    )
    if dated is None or s.last_tested_on is None:
        return None
    if test and needs.cleaning and (needs.cleaning.on - max(dated[0], s.today)).days <= SOON_DAYS:
        return None
    option, why = keep_open(options)
    window = cleaning_window(dated[0], s.today, s.climate)
    return Advice(Action.CLEAN, window, (dated[1], why, *_moved(window)), option, is_agreed=True)


def _agreed(
    s: SurfaceStatus, last: date, per_year: float, what: AgreedWork, never: bool = False
) -> Dated | None:
    """The day by which the agreement asks for the next, and the sentence; what was missed years ago is not late."""
    if per_year <= 0 or DAYS_A_YEAR / per_year > FARTHEST_DAYS:
        return None
    every = round(DAYS_A_YEAR / per_year)
    due = max(last + timedelta(days=every), s.agreed.since or last)
    missed = max(0, (s.today - due).days // max(every, 1))
    return due + timedelta(days=missed * every), what.asked(per_year, None if never else last)


def keep_open(options: Sequence[Option]) -> tuple[Option | None, str]:
    """The agreed cleaning of a surface that needs none: sweeping that lifts fines, else the gentlest; and why."""
    by_method = {option.method: option for option in options}
    found = next((by_method[m] for m in KEEPS_OPEN if m in by_method), None)
    if found is None:
        return (
            None,
            gettext_noop(
                "No ordinary sweeping is offered for this surface; see the methods and prices of the firm."
            ),
        )
    said = gettext_noop("{method1} keeps it open; the surface itself would not need it now.")
    return found, said.format(method1=method(found.method))


def _moved(window: Window) -> tuple[str, ...]:
    return (window.reason,) if window.reason else ()


def _within(on: date | None, today: date, days: int) -> bool:
    return on is not None and (on - today).days <= days
