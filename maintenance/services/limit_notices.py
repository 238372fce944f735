"""Telling people of a firm when a surface comes to its limit, or is likely to soon."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.notices import NoticeKind
from accounts.services.telling import News, tell_firm
from core.calc.format import percent
from core.models.pages import page_of
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from qa.models import Surface

WORDS = {
    SurfaceState.BELOW_LIMIT: gettext_noop(
        "{surface}, {site}, is below its limit with a chance of {chance}."
    ),
    SurfaceState.CLEAN_SOON: gettext_noop(
        "{surface}, {site}, is likely to reach its limit soon: by now the chance of being below it is {chance}."
    ),
}


def is_news(before: SurfaceState, now: SurfaceState) -> bool:
    """Whether a surface stands worse than before, and so that somebody should know."""
    return now in WORDS and WORST_FIRST.index(now) < WORST_FIRST.index(before)


def tell_limit(*, surface: Surface, state: SurfaceState, chance: float | None) -> None:
    """Tell of a state, once for what the record says now. In the transaction that stores the forecast.

    chance: of being below the limit on the day of the forecast. Says no rate: each reads those in units of their own.
    """
    site = surface.site

    def text() -> str:
        return _(WORDS[state]).format(surface=surface.name, site=site.name, chance=percent(chance))

    occasion = f"{state.value} {surface.record_version}"
    tell_firm(news=News(NoticeKind.LIMIT, site.organisation, surface, text, page_of(surface), occasion))
