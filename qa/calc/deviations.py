"""What was off in a test, said so that a person can judge it. What it does to the result is in `effects`."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import ClassVar

from core.calc.payload import Payload
from core.errors import ImpossibleRecordError
from qa.calc.effects import CONSEQUENCES, Consequence, Effect


@dataclass(frozen=True, slots=True)
class Deviation:
    """One deviation from a test method.

    key: stable name, for storing and translating.
    value: what was recorded, in its own unit; None where there is no number.
    allowed: the allowed range in words, with its unit.
    message: what is off, what is allowed, what to do.
    """

    key: str
    value: float | None
    allowed: str
    message: str

    @property
    def consequence(self) -> Consequence:
        """What it does to the result of its test, and by which source."""
        return CONSEQUENCES[self.key]

    @property
    def effect(self) -> Effect:
        """Whether it voids the test, makes its rate a bound, or is a note."""
        return self.consequence.effect


@dataclass(frozen=True, slots=True)
class Deviations(Payload):
    """What was off in one test, as it is kept with it."""

    SCHEMA: ClassVar[int] = 1

    found: tuple[Deviation, ...] = ()


def voiding(found: Iterable[Deviation]) -> tuple[Deviation, ...]:
    """Those after which a test says nothing."""
    return tuple(each for each in found if each.effect is Effect.VOIDS)


def bounding(found: Iterable[Deviation]) -> tuple[Deviation, ...]:
    """Those after which a rate is at most what was read."""
    return tuple(each for each in found if each.effect is Effect.BOUNDS)


def require_positive(name: str, value: float, unit: str, advice: str) -> None:
    """Refuse zero, negative and non-finite numbers with a message for the person who entered them."""
    if not (isfinite(value) and value > 0):
        raise ImpossibleRecordError(f"{name} must be more than 0 {unit}, got {value:g}. {advice}")


def require_not_negative(name: str, value: float, unit: str) -> None:
    """Refuse negative and non-finite numbers."""
    if not (isfinite(value) and value >= 0):
        raise ImpossibleRecordError(f"{name} must be 0 {unit} or more, got {value:g}. Check the entry.")
