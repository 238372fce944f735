"""How a surface stands, in a sentence that needs no knowledge of the trade."""

from core.calc.format import day
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.parts import Standing

SENTENCES = {
    SurfaceState.BELOW_LIMIT: gettext_noop("Rain no longer soaks in fast enough here: it needs a cleaning."),
    SurfaceState.CLEAN_SOON: gettext_noop(
        "Rain still soaks in fast enough, but not for long: a cleaning is due soon."
    ),
    SurfaceState.WATCH: gettext_noop(
        "Rain soaks in fast enough. It does so more slowly than before, and we keep an eye on it."
    ),
    SurfaceState.DRAINING: gettext_noop("Rain soaks in well."),
    SurfaceState.NOT_TESTED: gettext_noop(
        "It has not been tested yet, so nobody can say how well rain soaks in."
    ),
}


def surface_sentence(surface: Standing) -> str:
    """How one surface stands."""
    if surface.removed_on:
        return _("It was removed on {day}.").format(day=day(surface.removed_on))
    if surface.opens_later:
        return _("It is not open yet: it opens on {day}.").format(day=day(surface.opened_on))
    return _(SENTENCES[surface.state])
