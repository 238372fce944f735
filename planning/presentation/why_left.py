"""Why work found no place in a plan, in words: the method, the hours it needs, the days it has, and its season."""

from core.calc.format import day as day_words
from core.calc.format import money
from core.calc.paving import CleaningMethod
from planning.calc.plan_payload import LeftOut
from planning.calc.routing.reasons import Why

SEASON_NEAR = 75  # days from the last of the plan within which the end of a season is told; our judgement


def hours(minutes: int) -> str:
    """Minutes as hours and minutes."""
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest:02} min" if whole else f"{rest} min"


def why_left(left: LeftOut, currency: str) -> str:
    """A sentence or two."""
    needs = hours(left.minutes)
    settled = {
        Why.DAY_OFF: "It is on a visit for a day on which the crew does not work. Change the visit or the crew's days.",
        Why.NOT_EQUIPPED: (
            "It is on a visit of a crew that is not equipped for it. Move it to another crew's visit, or say on the"
            " crew's page what it is equipped for."
        ),
        Why.OVERFULL: f"It is on a visit, and the day is too full for its {needs}. Move it to another visit.",
        Why.CLOSED: (
            "It is on a visit for a day on which the surface is closed after its cleaning, or on the wrong side of"
            " that. Move one of the two visits."
        ),
    }
    if left.why in settled:
        return settled[left.why]
    return f"{_reason(left)} {_price(left, currency)}"


def _price(left: LeftOut, currency: str) -> str:
    waiting = f"costs {money(left.worth, currency)}."
    if left.why is Why.DRIVE and left.drive_cost is not None:
        return f"It would add {money(left.drive_cost, currency)}; waiting {waiting}"
    return f"Waiting with it {waiting}"


def _reason(left: LeftOut) -> str:
    who, needs = f"No crew {_with(left)}", hours(left.minutes)
    words = {
        Why.NO_CREW: f"{who}. Say so on a crew's page, or take a subcontracted one.",
        Why.CREW_AWAY: f"{who} works on a day open to it{_season(left)}: season, notice, days the site is closed.",
        Why.DAYS_IN_A_ROW: f"{who} has {left.whole_days} working days in a row of {needs} each{_between(left)}.",
        Why.TOO_LONG: f"{who} has a day that its {needs} fit with the drive and the hours of the site"
        f"{_longest(left)}.",
        Why.DRIVE: "The drive, or a crew that is dearer than the firm's own, would cost more than waiting does.",
        Why.TAKEN: (
            f"{who} has {_wanted(left)} free{_between(left)}{_longest(left)}. Work that is worth more has the days."
        ),
        Why.UNDECIDED: "It is a restoration above the firm's sum: a person decides on it first.",
        Why.NO_CLEANING: "It stands with a cleaning that found no place.",
        Why.AROUND: "No day open to it lies on its side of the cleaning with the surface open to people again.",
    }
    return words[left.why]


def _with(left: LeftOut) -> str:
    if not left.method:
        return "that can do it" if left.why is not Why.NO_CREW else "can do it"
    method = CleaningMethod(left.method).label.lower()
    return f"is equipped for {method}" if left.why is Why.NO_CREW else f"equipped for {method}"


def _wanted(left: LeftOut) -> str:
    needs = hours(left.minutes)
    return f"{left.whole_days} days in a row of {needs} each" if left.whole_days else needs


def _between(left: LeftOut) -> str:
    if left.first_on is None or left.last_on is None:
        return ""
    days = f" on {day_words(left.first_on)}"
    if left.first_on != left.last_on:
        days = f" between {day_words(left.first_on)} and {day_words(left.last_on)}"
    return days + _season(left)


def _season(left: LeftOut) -> str:
    """The end of the season, where it is what closes the days open to the work or comes soon after."""
    ends, last = left.season_ends, left.last_on
    if ends is None or (last is not None and (ends - last).days > SEASON_NEAR):
        return ""
    return f", with {left.season_why} after {day_words(ends)}"


def _longest(left: LeftOut) -> str:
    return f"; the longest time free is {hours(left.longest_min)}" if left.longest_min > 0 else ""
