"""What a recommendation rests on, kept with it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import ClassVar

from core.calc.payload import Payload, Upgrade
from maintenance.calc.actions import Option


@dataclass(frozen=True, slots=True)
class Grounds(Payload):
    """Why something was advised.

    record_version: of the surface's record when it was; reasons: sentences for `text.speak`, the deciding one first
    expected: what the method was expected to give, where one was advised
    saves: money against waiting, its price counted, where it was compared; is_agreed: asked for by the agreement alone
    wants_word: a person is to decide it, for its price. The first schema had none of the three.
    """

    SCHEMA: ClassVar[int] = 2
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType({1: dict})

    record_version: int
    reasons: tuple[str, ...]
    expected: Option | None = None
    saves: Decimal | None = None
    is_agreed: bool = False
    wants_word: bool = False
