"""What an owner was shown of a piece of advice, as it was on that day."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import ClassVar

from core.calc.payload import Payload
from maintenance.calc.vocabulary import Action


@dataclass(frozen=True, slots=True)
class ReleasedAdvice(Payload):
    """Price and words as they were released. reasons: sentences for `text.speak`; method: empty where it has none."""

    SCHEMA: ClassVar[int] = 1

    action: Action
    method: str
    title: str
    earliest_on: date
    due_on: date
    cost: Decimal | None
    currency: str
    reasons: tuple[str, ...]
