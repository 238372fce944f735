"""What a recommendation rests on, kept with it."""

from dataclasses import dataclass
from typing import ClassVar

from core.calc.payload import Payload
from maintenance.calc.actions import Option


@dataclass(frozen=True, slots=True)
class Grounds(Payload):
    """Why something was advised.

    record_version: of the surface's record when it was; reasons: sentences for `text.speak`, the deciding one first
    expected: what the method was expected to give, where one was advised
    """

    SCHEMA: ClassVar[int] = 1

    record_version: int
    reasons: tuple[str, ...]
    expected: Option | None = None
