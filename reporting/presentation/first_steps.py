"""The steps of a new firm, with their words and where each is taken."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.roles import Role
from reporting.calc.first_steps import OPTIONAL, Progress, StepKey

WHY = {
    StepKey.OWNER: gettext_noop("The party that owns the site and reads your reports. A name is enough."),
    StepKey.SITE: gettext_noop(
        "A property with one or more surfaces. Time zone and months of frost start from your country."
    ),
    StepKey.SURFACE: gettext_noop("Its type, its area, the day it opened, and the rate it must keep."),
    StepKey.BUILD_UP: gettext_noop(
        "Layers usual for its type are filled in: correct them, or keep them as they are."
    ),
    StepKey.TEST: gettext_noop(
        "A ring test on the spot, guided with a clock, or the readings of an earlier one."
    ),
    StepKey.PRICES: gettext_noop(
        "Advice weighs what work costs. Until you store your own it rests on starting values of ours."
    ),
    StepKey.PEOPLE: gettext_noop("Technicians record in the field, coordinators plan, viewers read."),
    StepKey.FORECAST: gettext_noop("It is made by itself, some moments after the first test."),
}
_ROLES = {StepKey.TEST: Role.TECHNICIAN, StepKey.PEOPLE: Role.ADMIN, StepKey.FORECAST: Role.VIEWER}


@dataclass(frozen=True, slots=True)
class Step:
    """A step. url: where it is taken; empty where it is done, rests on another, or is not for this reader."""

    key: StepKey
    title: str
    why: str
    is_done: bool
    is_next: bool
    may_be_left_out: bool
    url: str = ""


def steps(progress: Progress, role: int) -> list[Step]:
    """Every step, in its order, for a reader of that role."""
    return [
        Step(
            key=key,
            title=key.label,
            why=_(WHY[key]),
            is_done=key in progress.done,
            is_next=key is progress.next,
            may_be_left_out=key in OPTIONAL,
            url="" if key in progress.done else _url(key, progress, role),
        )
        for key in StepKey
    ]


def _url(key: StepKey, at: Progress, role: int) -> str:
    if role < _ROLES.get(key, Role.COORDINATOR):
        return ""
    owner, site, surface = at.owner, at.site, at.surface
    ways = {
        StepKey.OWNER: ("accounts:owner-create", "", True),
        StepKey.SITE: ("qa:site-create", "", owner),
        StepKey.SURFACE: ("qa:surface-create", site, site),
        StepKey.BUILD_UP: ("qa:layer-edit", surface, surface),
        StepKey.TEST: ("qa:round-create", surface, surface),
        StepKey.PRICES: ("maintenance:method-terms", "", True),
        StepKey.PEOPLE: ("accounts:member-invite", "", True),
        StepKey.FORECAST: ("reporting:surface-detail", surface, surface and StepKey.TEST in at.done),
    }
    route, of, may = ways[key]
    return reverse(route, args=[of] if of else []) if may else ""
