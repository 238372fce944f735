"""A site in one sentence that needs no knowledge of the trade, from how its surfaces stand and what was agreed."""

from collections.abc import Iterator, Sequence
from datetime import date

from core.calc.format import day
from maintenance.calc.vocabulary import Action, SurfaceState
from reporting.calc.parts import AdvicePart, Standing
from reporting.calc.report_parts import AgreedPart
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot

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


def verdict(report: ReportSnapshot) -> str:
    """How the site stands, in one sentence."""
    surfaces = report.surfaces
    if not surfaces:
        return "No surface is in service at this site."
    parts = [_how_many_drain(surfaces), *_others(surfaces, report.made_on), *_missing(report.agreed)]
    return "; ".join(parts) + "."


def number_word(count: int) -> str:
    """A count in words up to twelve, and in figures beyond."""
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _how_many_drain(surfaces: Sequence[ReportedSurface]) -> str:
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


def _others(surfaces: Sequence[ReportedSurface], today: date) -> Iterator[str]:
    """The surfaces that do not drain well, the worst first, with what is to be done about them."""
    for state, (one, several) in _SAID.items():
        here = [surface for surface in surfaces if surface.standing.state is state]
        todo = _to_do(here, today)
        if here and len(surfaces) == 1:
            yield from filter(None, (f"it {todo}" if todo else "",))
        elif here:
            said = f"{number_word(len(here))} {several if len(here) > 1 else one}"
            yield f"{said} and {todo}" if todo else said


def _to_do(surfaces: Sequence[ReportedSurface], today: date) -> str:
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
