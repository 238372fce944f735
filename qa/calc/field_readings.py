"""The readings of a test by a method other than the ring, as they were taken and are kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from core.calc.payload import Payload

Value = float | bool | None


@dataclass(frozen=True, slots=True)
class FieldReadings(Payload):
    """Entries by the keys of `field_tests`, in the units of the test's unit system.

    once: entries made once. runs: entries of each run.
    """

    SCHEMA: ClassVar[int] = 1

    once: Mapping[str, Value] = field(default_factory=dict)
    runs: tuple[Mapping[str, float], ...] = ()
