"""What was off in a test, said so that a person can judge it. What it does to the result is in `effects`."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Any, ClassVar

from core.calc.marks import marked
from core.calc.payload import Payload, Upgrade
from core.calc.translation import gettext as _
from core.errors import ImpossibleRecordError
from qa.calc.effects import CONSEQUENCES, Consequence, Effect
from qa.calc.numbers import short


@dataclass(frozen=True, slots=True)
class Deviation:
    """One deviation from a test method.

    key: stable name, for storing.
    value: what was recorded, in its own unit; None where there is no number.
    allowed_as_written, said_as_written: the allowed range with its unit; what is off, what is allowed, what to do. What
    is kept is in English with the names of its numbers, so that each reader has it in the own language.
    numbers: by their names, as they are written in English.
    """

    key: str
    value: float | None
    allowed_as_written: str
    said_as_written: str
    numbers: tuple[tuple[str, str], ...] = ()

    @property
    def allowed(self) -> str:
        """The allowed range in words, with its unit."""
        return self._told(self.allowed_as_written)

    @property
    def message(self) -> str:
        """What is off, what is allowed, what to do."""
        return self._told(self.said_as_written)

    def _told(self, written: str) -> str:
        told = {name: marked(number) for name, number in self.numbers}
        return _(written).format(**told) if told else _(written)

    @property
    def consequence(self) -> Consequence:
        """What it does to the result of its test, and by which source."""
        return CONSEQUENCES[self.key]

    @property
    def effect(self) -> Effect:
        """Whether it voids the test, makes its rate a bound, or is a note."""
        return self.consequence.effect


def deviation(key: str, value: float | None, allowed: str, said: str, **numbers: str) -> Deviation:
    """A deviation that is kept. allowed, said: marked texts with the names of numbers; numbers: as in English."""
    return Deviation(key, value, allowed, said, tuple(numbers.items()))


def _with_written_texts(fields: dict[str, Any]) -> dict[str, Any]:
    """Texts that held their numbers are kept as they are."""
    names = {"allowed": "allowed_as_written", "message": "said_as_written"}
    found = [{names.get(name, name): value for name, value in each.items()} for each in fields["found"]]
    return {**fields, "found": found}


@dataclass(frozen=True, slots=True)
class Deviations(Payload):
    """What was off in one test, as it is kept with it."""

    SCHEMA: ClassVar[int] = 2
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType({1: _with_written_texts})

    found: tuple[Deviation, ...] = ()


def voiding(found: Iterable[Deviation]) -> tuple[Deviation, ...]:
    """Those after which a test says nothing."""
    return tuple(each for each in found if each.effect is Effect.VOIDS)


def bounding(found: Iterable[Deviation]) -> tuple[Deviation, ...]:
    """Those after which a rate is at most what was read."""
    return tuple(each for each in found if each.effect is Effect.BOUNDS)


def require_positive(name: str, value: float, unit: str, advice: str) -> None:
    """Refuse zero, negative and non-finite numbers with a message for the person who entered them.

    name, advice: marked texts, which are looked up here.
    """
    if not (isfinite(value) and value > 0):
        # Translators: {name} is what was entered, such as "Elapsed time", {zero} a 0 with its unit.
        said = _("{name} must be more than {zero}, got {value}. {advice}")
        zero = f"0 {_(unit)}"
        raise ImpossibleRecordError(
            said.format(name=_(name), zero=zero, value=short(value), advice=_(advice))
        )


def require_not_negative(name: str, value: float, unit: str) -> None:
    """Refuse negative and non-finite numbers. name: a marked text."""
    if not (isfinite(value) and value >= 0):
        # Translators: {name} is what was entered, such as "Elapsed time", {zero} a 0 with its unit.
        said = _("{name} must be {zero} or more, got {value}. Check the entry.")
        raise ImpossibleRecordError(said.format(name=_(name), zero=f"0 {_(unit)}", value=short(value)))
