"""How a cleaning was done, in words."""

from collections.abc import Callable
from functools import partial

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
        found.append(_plain(f"{event.passes} pass{'' if event.passes == 1 else 'es'}"))
    if event.pressure_bar:
        found.append(partial(_measured, "at {}", event.pressure_bar, Quantity.PRESSURE))
    if event.depth_out_mm:
        found.append(partial(_measured, "joints taken out to {}", event.depth_out_mm, Quantity.SHORT_LENGTH))
    return found


def _words(event: CleaningEvent, with_people: bool) -> list[str]:
    words = [f"with {event.equipment}"] if event.equipment else []
    if event.done_by and with_people:
        words.append(f"by {event.done_by}")
    return [*words, f"disposal: {event.disposal}"] if event.disposal else words


def _measured(words: str, value: float, quantity: Quantity, units: str) -> str:
    return words.format(to_display(value, quantity, UnitSystem(units)))


def _plain(words: str) -> Said:
    return lambda _units: words


def price_effect_words(effect: Effect) -> str:
    """What storing the firm's prices does to its open advice."""
    said = "The prices are stored, and advice is being worked out anew with them."
    if not effect.pieces:
        return said
    return (
        f"{said} Of {counted(effect.pieces, 'open piece')} of advice to clean or restore {effect.changed} change their "
        f"price by more than a twentieth ({effect.dearer} dearer, {effect.cheaper} cheaper), and {effect.lost} would "
        "no longer pay. Whether another way is better now is told when the advice is made anew."
    )
