"""How a surface stands, in a sentence that needs no knowledge of the trade."""

from core.calc.format import day
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.parts import Standing

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
