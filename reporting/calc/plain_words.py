"""How a surface and a site stand, in a sentence that needs no knowledge of the trade."""

from collections.abc import Sequence
from datetime import date

from core.calc.format import counted, day
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.parts import Standing

MOST_NAMED = 3
SENTENCES = {
    SurfaceState.BELOW_LIMIT: "Rain no longer soaks in fast enough here: it needs a cleaning.",
    SurfaceState.CLEAN_SOON: "Rain still soaks in fast enough, but not for long: a cleaning is due soon.",
    SurfaceState.WATCH: "Rain soaks in fast enough. It does so more slowly than before, and we keep an eye on it.",
    SurfaceState.DRAINING: "Rain soaks in well.",
    SurfaceState.NOT_TESTED: "It has not been tested yet, so nobody can say how well rain soaks in.",
}


def surface_sentence(surface: Standing) -> str:
    """How one surface stands."""
    if surface.removed_on:
        return f"It was removed on {day(surface.removed_on)}."
    if surface.opens_later:
        return f"It is not open yet: it opens on {day(surface.opened_on)}."
    return SENTENCES[surface.state]


def site_sentence(surfaces: Sequence[Standing], next_visit_on: date | None = None) -> str:
    """How the surfaces of a site stand together, the worst first, and when somebody comes next."""
    said = [*_states(surfaces)]
    if next_visit_on:
        said.append(f"Our people come next on {day(next_visit_on)}.")
    return " ".join(said)


def _states(surfaces: Sequence[Standing]) -> list[str]:
    used = [one for one in surfaces if not one.removed_on and not one.opens_later]
    if not used:
        return ["No surface is in use here yet."]
    by_state = {state: [one.name for one in used if one.state is state] for state in SurfaceState}
    below, soon, watched, untested = (
        by_state[state]
        for state in (
            SurfaceState.BELOW_LIMIT,
            SurfaceState.CLEAN_SOON,
            SurfaceState.WATCH,
            SurfaceState.NOT_TESTED,
        )
    )
    fine = len(used) - len(below) - len(untested)
    said = []
    if below:
        said.append(_below(below, fine))
    elif fine:
        said.append(_fine(fine, calm=not soon and not watched, tested_only=bool(untested)))
    if soon:
        said.append(f"{_named(soon)} {_verb(soon, 'needs', 'need')} a cleaning soon.")
    if watched and not soon and not below:
        said.append(f"We keep an eye on {_named(watched)}.")
    if untested:
        said.append(f"{_named(untested)} {_verb(untested, 'has', 'have')} not been tested yet.")
    return said


def _below(names: Sequence[str], fine: int) -> str:
    rest = f"; on the other {counted(fine, 'surface') if fine > 1 else 'surface'} it does" if fine else ""
    return f"Rain no longer soaks in fast enough on {_named(names)}{rest}."


def _fine(count: int, *, calm: bool, tested_only: bool) -> str:
    where = "the surface" if count == 1 else f"all {counted(count, 'surface')}"
    if tested_only:
        where += " that was tested" if count == 1 else " that were tested"
    return f"Rain soaks in {'well' if calm else 'fast enough'} on {where}."


def _named(names: Sequence[str]) -> str:
    """Names in a sentence, or how many there are where they would fill it."""
    if len(names) > MOST_NAMED:
        return counted(len(names), "surface")
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def _verb(names: Sequence[str], one: str, several: str) -> str:
    return one if len(names) == 1 else several
