"""A site in one sentence that needs no knowledge of the trade, from how its surfaces stand and what was agreed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from core.calc.format import day
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, pgettext
from maintenance.calc.vocabulary import Action, SurfaceState
from reporting.calc.parts import AdvicePart, Standing
from reporting.calc.report_parts import AgreedPart
from reporting.calc.snapshots import ReportSnapshot

# What the only surface of a site does, what one of several does, and what several do; {number}: in words.
_SAID = {
    SurfaceState.BELOW_LIMIT: (
        gettext_noop("The surface is below its limit"),
        gettext_noop("one is below its limit"),
        gettext_noop("{number} are below their limit"),
    ),
    SurfaceState.CLEAN_SOON: (
        gettext_noop("The surface needs cleaning soon"),
        gettext_noop("one needs cleaning soon"),
        gettext_noop("{number} need cleaning soon"),
    ),
    SurfaceState.WATCH: (
        gettext_noop("The surface is nearing its limit"),
        gettext_noop("one is nearing its limit"),
        gettext_noop("{number} are nearing their limit"),
    ),
    SurfaceState.NOT_TESTED: (
        gettext_noop("The surface is not tested yet"),
        gettext_noop("one is not tested yet"),
        gettext_noop("{number} are not tested yet"),
    ),
}
_ONLY_WELL = gettext_noop("The surface drains well")
# What is to be done about a surface, and what should have been by now.
# Translators: follows "it", "one ... and" or "the first", and is said of a surface.
_SHOULD = {
    Action.CLEAN: (
        gettext_noop("should be cleaned by {day}"),
        gettext_noop("should have been cleaned by {day}"),
    ),
    Action.REJOINT: (
        gettext_noop("should be restored by {day}"),
        gettext_noop("should have been restored by {day}"),
    ),
    Action.TEST: (
        gettext_noop("should be tested by {day}"),
        gettext_noop("should have been tested by {day}"),
    ),
    Action.LOOK: (
        gettext_noop("should be looked at by an engineer by {day}"),
        gettext_noop("should have been looked at by an engineer by {day}"),
    ),
    Action.INSPECT: (
        gettext_noop("should be inspected by {day}"),
        gettext_noop("should have been inspected by {day}"),
    ),
    Action.REPAIR: (
        gettext_noop("should be repaired by {day}"),
        gettext_noop("should have been repaired by {day}"),
    ),
}


class Stands(Protocol):
    """A surface with what was released for it."""

    @property
    def standing(self) -> Standing:
        """How it stands."""

    @property
    def advice(self) -> Sequence[AdvicePart]:
        """What was released."""


@dataclass(frozen=True, slots=True)
class SeenSurface:
    """A surface on a page that is no report."""

    standing: Standing
    advice: tuple[AdvicePart, ...] = ()


def verdict(report: ReportSnapshot) -> str:
    """How the site stands, in one sentence."""
    return _sentence([*how_they_stand(report.surfaces, report.made_on), *_missing(report.agreed)])


def site_sentence(
    surfaces: Sequence[Standing], advice: Sequence[AdvicePart] = (), next_visit_on: date | None = None
) -> str:
    """The same of a site as it stands today, and when somebody comes. advice: what was released, of any surface."""
    used = [one for one in surfaces if not one.removed_on]
    today = max((one.today for one in used), default=date.min)
    seen = [
        SeenSurface(
            one, tuple(part for part in advice if part.surface.key == one.key and part.is_as_released)
        )
        for one in used
    ]
    said = _sentence(how_they_stand(seen, today))
    if next_visit_on is None:
        return said
    coming = _("Somebody comes next on {day}.").format(day=day(next_visit_on))
    return f"{said} {coming}"


def _sentence(parts: Sequence[str]) -> str:
    # Translators: parts the parts of a sentence.
    return _("; ").join(parts) + "."


def how_they_stand(surfaces: Sequence[Stands], today: date) -> list[str]:
    """How surfaces stand together, as the parts of one sentence."""
    if not surfaces:
        return [_("No surface is in service at this site")]
    return [_how_many_drain(surfaces), *_others(surfaces, today)]


def number_word(count: int) -> str:
    """A count in words up to twelve, and in figures beyond."""
    words = _numbers()
    return words[count] if count < len(words) else str(count)


def _numbers() -> tuple[str, ...]:
    return (
        pgettext("a number", "none"),
        pgettext("a number", "one"),
        pgettext("a number", "two"),
        pgettext("a number", "three"),
        pgettext("a number", "four"),
        pgettext("a number", "five"),
        pgettext("a number", "six"),
        pgettext("a number", "seven"),
        pgettext("a number", "eight"),
        pgettext("a number", "nine"),
        pgettext("a number", "ten"),
        pgettext("a number", "eleven"),
        pgettext("a number", "twelve"),
    )


def _how_many_drain(surfaces: Sequence[Stands]) -> str:
    well = sum(surface.standing.state is SurfaceState.DRAINING for surface in surfaces)
    if len(surfaces) == 1:
        (only,) = surfaces
        return _only_said(only.standing)
    whole = number_word(len(surfaces))
    if well == len(surfaces):
        return _("All {whole} surfaces drain well").format(whole=whole)
    if not well:
        return _("None of the {whole} surfaces is known to drain well").format(whole=whole)
    if well == 1:
        return _("One of {whole} surfaces drains well").format(whole=whole)
    return _("{well} of {whole} surfaces drain well").format(well=number_word(well).capitalize(), whole=whole)


def _only_said(standing: Standing) -> str:
    if standing.opens_later:
        said = _("The surface is not open yet: it opens on {day}")
        return said.format(day=day(standing.opened_on))
    return _(_ONLY_WELL if standing.state is SurfaceState.DRAINING else _SAID[standing.state][0])


def _others(surfaces: Sequence[Stands], today: date) -> Iterator[str]:
    """The surfaces that do not drain well, the worst first, with what is to be done about them."""
    for state, (_only, one, several) in _SAID.items():
        here = [surface for surface in surfaces if surface.standing.state is state]
        todo = _to_do(here, today)
        if here and len(surfaces) > 1:
            said = _(several if len(here) > 1 else one).format(number=number_word(len(here)))
            yield _and_what(said, todo, len(here)) if todo else said
        elif todo:
            yield _("it {should}").format(should=todo)


def _and_what(said: str, todo: str, count: int) -> str:
    """How surfaces stand with what is to be done about them, or about the first of several."""
    both = _("{said} and {should}") if count == 1 else _("{said} and the first {should}")
    return both.format(said=said, should=todo)


def _to_do(surfaces: Sequence[Stands], today: date) -> str:
    """What was released for these surfaces and is due first."""
    advice = [one for surface in surfaces for one in surface.advice if one.action in _SHOULD]
    if not advice:
        return ""
    first = min(advice, key=lambda one: one.due_on)
    if first.action is None:
        return ""
    ahead, late = _SHOULD[first.action]
    return _(late if first.due_on < today else ahead).format(day=day(first.due_on))


def _missing(agreed: AgreedPart | None) -> Iterator[str]:
    """What the agreement asked for in the period and was not done."""
    if agreed is None:
        return
    rounds, cleanings = (count.asked - count.done for count in (agreed.tests, agreed.cleanings))
    left = [*_missing_rounds(rounds), *_missing_cleanings(cleanings)]
    if not left:
        return
    what = left[0] if len(left) == 1 else _("{one} and {other}").format(one=left[0], other=left[1])
    if rounds + cleanings == 1:
        yield _("{what} of the agreement is still to be done").format(what=what)
    else:
        yield _("{what} of the agreement are still to be done").format(what=what)


def _missing_rounds(count: int) -> Iterator[str]:
    if count == 1:
        yield _("one test round")
    elif count:
        yield _("{number} test rounds").format(number=number_word(count))


def _missing_cleanings(count: int) -> Iterator[str]:
    if count == 1:
        yield _("one cleaning")
    elif count:
        yield _("{number} cleanings").format(number=number_word(count))
