"""What the invented crew's phones told of themselves: one with work under way and a refusal, one that lost an entry."""

from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import cycle
from random import Random
from uuid import UUID

from accounts.models import Organisation, User
from fieldwork.calc.phones import Contact, Held, HeldState
from fieldwork.services.phones import note_contact
from qa.models import Surface

PHONE, OLD_PHONE = "Phone of the south crew (invented)", "Old phone of the south crew (invented)"
REFUSED = "Joint material in: 4,800 kg is more than the joints of this area hold. Enter what went in."
NOT_LONG, THIS_MORNING, LAST_WEEK = timedelta(minutes=50), timedelta(hours=5), timedelta(days=6)


def phones(firm: Organisation, technician: User, at: datetime, seed: int) -> None:
    """Have both phones tell what they hold, as they do by themselves whenever a page is open."""
    rng = Random(seed)
    surfaces = cycle(Surface.objects.of_organisation(firm).select_related("site").order_by("name")[:3])

    def entry(title: str, surface: Surface, made_at: datetime, refused: str = "") -> Held:
        state = HeldState.PARKED if refused else HeldState.WAITING
        about = f"{surface.name}, {surface.site.name}"
        return Held(id=_id(rng), made_at=made_at, state=state.value, title=title, about=about, reason=refused)

    tell = _teller(firm, technician)
    old = _id(rng)
    lost = entry("Record a cleaning", next(surfaces), at - LAST_WEEK - THIS_MORNING)
    tell(
        at - LAST_WEEK,
        Contact(device=old, now=at - LAST_WEEK, agent=OLD_PHONE, persisted=False, held=(lost,)),
    )
    tell(at - LAST_WEEK + NOT_LONG, Contact(device=old, now=at - LAST_WEEK + NOT_LONG, agent=OLD_PHONE))
    held = (
        entry("Record a cleaning", next(surfaces), at - THIS_MORNING - NOT_LONG, REFUSED),
        entry("New ring test", next(surfaces), at - THIS_MORNING),
        entry("New ring test", next(surfaces), at - THIS_MORNING + NOT_LONG),
        entry("Record an inspection", next(surfaces), at - THIS_MORNING + 2 * NOT_LONG),
    )
    tell(at - NOT_LONG, Contact(device=_id(rng), now=at - NOT_LONG, agent=PHONE, persisted=True, held=held))


def _teller(firm: Organisation, technician: User) -> Callable[[datetime, Contact], object]:
    firms = {str(firm.pk): firm}
    return lambda at, contact: note_contact(
        person=technician, firms=firms, acting_for=firm, contact=contact, at=at
    )


def _id(rng: Random) -> UUID:
    return UUID(int=rng.getrandbits(128), version=4)
