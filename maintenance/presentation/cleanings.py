"""How a cleaning was done, in words."""

from collections.abc import Callable
from functools import partial

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import counted
from core.calc.units import Quantity, UnitSystem, to_display
from maintenance.calc.price_effect import Effect
from maintenance.models import CleaningEvent

Said = Callable[[str], str]


def cleaning_details(event: CleaningEvent, with_people: bool) -> list[Said]:
    """What was recorded beyond day, way and area; each says itself in the units it is asked for.

    with_people: whether the reader may know who did it.
    """
    return [
        *_figures(event),
        *(_plain(words) for words in _words(event, with_people)),
    ]


def _figures(event: CleaningEvent) -> list[Said]:
    found: list[Said] = []
    if event.passes:
        said = ngettext("{count} pass", "{count} passes", event.passes)
        found.append(_plain(said.format(count=event.passes)))
    if event.pressure_bar:
        found.append(
            partial(_measured, _("at {pressure}"), "pressure", event.pressure_bar, Quantity.PRESSURE)
        )
    if event.depth_out_mm:
        found.append(
            partial(
                _measured,
                _("joints taken out to {depth}"),
                "depth",
                event.depth_out_mm,
                Quantity.SHORT_LENGTH,
            )
        )
    return found


def _words(event: CleaningEvent, with_people: bool) -> list[str]:
    words = [_("with {equipment}").format(equipment=event.equipment)] if event.equipment else []
    if event.done_by and with_people:
        words.append(_("by {person}").format(person=event.done_by))
    return [*words, _("disposal: {disposal}").format(disposal=event.disposal)] if event.disposal else words


def _measured(words: str, hole: str, value: float, quantity: Quantity, units: str) -> str:
    return words.format(**{hole: to_display(value, quantity, UnitSystem(units))})


def _plain(words: str) -> Said:
    return lambda _units: words


def price_effect_words(effect: Effect) -> str:
    """What storing the firm's prices does to its open advice."""
    said = _("The prices are stored, and advice is being worked out anew with them.")
    if not effect.pieces:
        return said
    told = _(
        "Of {pieces} of advice to clean or restore {changed} change their price by more than a twentieth ({dearer} "
        "dearer, {cheaper} cheaper), and {lost} would no longer pay. Whether another way is better now is told when "
        "the advice is made anew."
    ).format(
        pieces=counted(effect.pieces, "open piece"),
        changed=effect.changed,
        dearer=effect.dearer,
        cheaper=effect.cheaper,
        lost=effect.lost,
    )
    return f"{said} {told}"
