"""What was off in a test, said so that a person can judge it. A deviation keeps the result."""

from dataclasses import dataclass
from math import isfinite
from typing import ClassVar

from core.calc.payload import Payload
from core.errors import ImpossibleRecordError


@dataclass(frozen=True, slots=True)
class Deviation:
    """One departure from a test method.

    key: stable name, for storing and translating.
    value: what was recorded, in its own unit; None where there is no number.
    allowed: the allowed range in words, with its unit.
    message: what is off, what is allowed, what to do.
    """

    key: str
    value: float | None
    allowed: str
    message: str


@dataclass(frozen=True, slots=True)
class Deviations(Payload):
    """What was off in one test, as it is kept with it."""

    SCHEMA: ClassVar[int] = 1

    found: tuple[Deviation, ...] = ()


def require_positive(name: str, value: float, unit: str, advice: str) -> None:
    """Refuse zero, negative and non-finite numbers with a message for the person who entered them."""
    if not (isfinite(value) and value > 0):
        raise ImpossibleRecordError(f"{name} must be more than 0 {unit}, got {value:g}. {advice}")


def require_not_negative(name: str, value: float, unit: str) -> None:
    """Refuse negative and non-finite numbers."""
    if not (isfinite(value) and value >= 0):
        raise ImpossibleRecordError(f"{name} must be 0 {unit} or more, got {value:g}. Check the entry.")
