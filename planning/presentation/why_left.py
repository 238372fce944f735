"""Why work found no place in a plan, in words: the method, the hours it needs, the days it has, and its season."""

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import day as day_words
from core.calc.format import money
from core.calc.paving import CleaningMethod
from planning.calc.plan_payload import LeftOut
from planning.calc.routing.reasons import Why

SETTLED: Mapping[Why, str] = {  # what is on a visit already
    Why.DAY_OFF: gettext_noop(
        "It is on a visit for a day on which the crew does not work. Change the visit or the crew's days."
    ),
    Why.NOT_EQUIPPED: gettext_noop(
        "It is on a visit of a crew that is not equipped for it. Move it to another crew's visit, or say on the crew's "
        "page what it is equipped for."
    ),
    Why.OVERFULL: gettext_noop(
        "It is on a visit, and the day is too full for its {needs}. Move it to another visit."
    ),
    Why.CLOSED: gettext_noop(
        "It is on a visit for a day on which the surface is closed after its cleaning, or on the wrong side of that. "
        "Move one of the two visits."
    ),
}
Words = Mapping[Why | tuple[Why, Why], str]
CLEANING: Words = {
    Why.NO_CREW: gettext_noop(
        "No crew is equipped for {method}. Say so on a crew's page, or take a subcontracted one."
    ),
    Why.CREW_AWAY: gettext_noop(
        "No crew equipped for {method} works on a day open to it{season}: season, notice, days the site is closed."
    ),
    Why.DAYS_IN_A_ROW: gettext_noop(
        "No crew equipped for {method} has {number} working days in a row of {needs} each{between}."
    ),
    Why.TOO_LONG: gettext_noop(
        "No crew equipped for {method} has a day that its {needs} fit with the drive and the hours of the "
        "site{longest}."
    ),
    Why.TAKEN: gettext_noop(
        "No crew equipped for {method} has {needs} free{between}{longest}. Work that is worth more has the days."
    ),
    (Why.DAYS_IN_A_ROW, Why.TAKEN): gettext_noop(
        "No crew equipped for {method} has {number} days in a row of {needs} each free{between}{longest}. Work that is "
        "worth more has the days."
    ),
}
OTHER: Words = {
    Why.NO_CREW: gettext_noop("No crew can do it. Say so on a crew's page, or take a subcontracted one."),
    Why.CREW_AWAY: gettext_noop(
        "No crew that can do it works on a day open to it{season}: season, notice, days the site is closed."
    ),
    Why.DAYS_IN_A_ROW: gettext_noop(
        "No crew that can do it has {number} working days in a row of {needs} each{between}."
    ),
    Why.TOO_LONG: gettext_noop(
        "No crew that can do it has a day that its {needs} fit with the drive and the hours of the site{longest}."
    ),
    Why.TAKEN: gettext_noop(
        "No crew that can do it has {needs} free{between}{longest}. Work that is worth more has the days."
    ),
    (Why.DAYS_IN_A_ROW, Why.TAKEN): gettext_noop(
        "No crew that can do it has {number} days in a row of {needs} each free{between}{longest}. Work that is worth "
        "more has the days."
    ),
}
ANY: Words = {
    Why.DRIVE: gettext_noop(
        "The drive, or a crew that is dearer than the firm's own, would cost more than waiting does."
    ),
    Why.UNDECIDED: gettext_noop("It is a restoration above the firm's sum: a person decides on it first."),
    Why.NO_CLEANING: gettext_noop("It stands with a cleaning that found no place."),
    Why.AROUND: gettext_noop(
        "No day open to it lies on its side of the cleaning with the surface open to people again."
    ),
}
SEASON_NEAR = 75  # days from the last of the plan within which the end of a season is told; our judgement


def hours(minutes: int) -> str:
    """Minutes as hours and minutes."""
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest:02} min" if whole else f"{rest} min"


def why_left(left: LeftOut, currency: str) -> str:
    """A sentence or two."""
    settled = SETTLED.get(left.why)
    if settled is not None:
        return _(settled).format(needs=hours(left.minutes))
    return f"{_reason(left)} {_price(left, currency)}"


def _price(left: LeftOut, currency: str) -> str:
    waiting = money(left.worth, currency)
    if left.why is Why.DRIVE and left.drive_cost is not None:
        added = money(left.drive_cost, currency)
        return _("It would add {added}; waiting costs {waiting}.").format(added=added, waiting=waiting)
    return _("Waiting with it costs {waiting}.").format(waiting=waiting)


def _reason(left: LeftOut) -> str:
    """Why, by words that are whole but for the work, its hours, its days and its season."""
    return _(_words(left)).format(
        method=CleaningMethod(left.method).label.lower() if left.method else "",
        needs=hours(left.minutes),
        number=left.whole_days,
        between=_between(left),
        season=_season(left),
        longest=_longest(left),
    )


def _words(left: LeftOut) -> str:
    """The sentence by its reason: with the way of cleaning where it has one, with the days where it takes several."""
    kind = CLEANING if left.method else OTHER
    if left.why is Why.TAKEN and left.whole_days:
        return kind[Why.DAYS_IN_A_ROW, Why.TAKEN]
    return kind.get(left.why) or ANY[left.why]


def _between(left: LeftOut) -> str:
    if left.first_on is None or left.last_on is None:
        return ""
    # Translators: follows "days in a row of 3 h each" or "has 3 h free"; begins with a space.
    days = _(" on {first}") if left.first_on == left.last_on else _(" between {first} and {last}")
    said = days.format(first=day_words(left.first_on), last=day_words(left.last_on))
    return said + _season(left)


def _season(left: LeftOut) -> str:
    """The end of the season, where it is what closes the days open to the work or comes soon after."""
    ends, last = left.season_ends, left.last_on
    if ends is None or (last is not None and (ends - last).days > SEASON_NEAR):
        return ""
    # Translators: why is "frost" or the like, and ends the season of a way of cleaning.
    return _(", with {why} after {day}").format(why=_(left.season_why), day=day_words(ends))


def _longest(left: LeftOut) -> str:
    if left.longest_min <= 0:
        return ""
    return _("; the longest time free is {hours}").format(hours=hours(left.longest_min))
