"""A site in one sentence that needs no knowledge of the trade, from how its surfaces stand and what was agreed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from core.calc.format import day
from maintenance.calc.vocabulary import Action, SurfaceState
from reporting.calc.parts import AdvicePart, Standing
from reporting.calc.report_parts import AgreedPart
from reporting.calc.snapshots import ReportSnapshot

NUMBERS = (
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
# What one surface does, and what several do.
_SAID = {
    SurfaceState.BELOW_LIMIT: ("is below its limit", "are below their limit"),
    SurfaceState.CLEAN_SOON: ("needs cleaning soon", "need cleaning soon"),
    SurfaceState.WATCH: ("is nearing its limit", "are nearing their limit"),
    SurfaceState.NOT_TESTED: ("is not tested yet", "are not tested yet"),
}
_WELL = ("drains well", "drain well")
_DONE_BY = {
    Action.CLEAN: "cleaned",
    Action.REJOINT: "restored",
    Action.TEST: "tested",
    Action.LOOK: "looked at by an engineer",
    Action.INSPECT: "inspected",
    Action.REPAIR: "repaired",
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
    coming = f" Somebody comes next on {day(next_visit_on)}." if next_visit_on else ""
    return _sentence(how_they_stand(seen, today)) + coming


def _sentence(parts: Sequence[str]) -> str:
    return "; ".join(parts) + "."


def how_they_stand(surfaces: Sequence[Stands], today: date) -> list[str]:
    """How surfaces stand together, as the parts of one sentence."""
    if not surfaces:
        return ["No surface is in service at this site"]
    return [_how_many_drain(surfaces), *_others(surfaces, today)]


def number_word(count: int) -> str:
    """A count in words up to twelve, and in figures beyond."""
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _how_many_drain(surfaces: Sequence[Stands]) -> str:
    well = sum(surface.standing.state is SurfaceState.DRAINING for surface in surfaces)
    if len(surfaces) == 1:
        (only,) = surfaces
        return f"The surface {_one_said(only.standing)}"
    whole = number_word(len(surfaces))
    if well == len(surfaces):
        return f"All {whole} surfaces drain well"
    if not well:
        return f"None of the {whole} surfaces is known to drain well"
    return f"{number_word(well).capitalize()} of {whole} surfaces {_WELL[well > 1]}"


def _one_said(standing: Standing) -> str:
    if standing.opens_later:
        return f"is not open yet: it opens on {day(standing.opened_on)}"
    return _WELL[0] if standing.state is SurfaceState.DRAINING else _SAID[standing.state][0]


def _others(surfaces: Sequence[Stands], today: date) -> Iterator[str]:
    """The surfaces that do not drain well, the worst first, with what is to be done about them."""
    for state, (one, several) in _SAID.items():
        here = [surface for surface in surfaces if surface.standing.state is state]
        todo = _to_do(here, today)
        if here and len(surfaces) == 1:
            yield from filter(None, (f"it {todo}" if todo else "",))
        elif here:
            said = f"{number_word(len(here))} {several if len(here) > 1 else one}"
            yield f"{said} and {todo}" if todo else said


def _to_do(surfaces: Sequence[Stands], today: date) -> str:
    """What was released for these surfaces and is due first."""
    advice = [one for surface in surfaces for one in surface.advice if one.action in _DONE_BY]
    if not advice:
        return ""
    first = min(advice, key=lambda one: one.due_on)
    late = first.due_on < today
    who = "" if len(surfaces) == 1 else "the first "
    return f"{who}{'should have been' if late else 'should be'} {_done_by(first)} by {day(first.due_on)}"


def _done_by(advice: AdvicePart) -> str:
    return _DONE_BY[advice.action] if advice.action else ""


def _missing(agreed: AgreedPart | None) -> Iterator[str]:
    """What the agreement asked for in the period and was not done."""
    if agreed is None:
        return
    left = []
    for count, noun in ((agreed.tests, "test round"), (agreed.cleanings, "cleaning")):
        if missing := count.asked - count.done:
            left.append(f"{number_word(missing)} {noun}{'s' if missing > 1 else ''}")
    if left:
        one = " and ".join(left)
        yield f"{one} of the agreement {'is' if one.startswith('one ') and len(left) == 1 else 'are'} still to be done"
