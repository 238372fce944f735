"""What other prices do to advice that is open, before it is worked out anew."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

MATERIAL = Decimal("0.05")  # of the price; our judgement, as for what owners were shown


@dataclass(frozen=True, slots=True)
class Priced:
    """One piece of advice: its price as advised, the price by the new terms, and what it was to save at the old."""

    was: Decimal
    now: Decimal
    saves: Decimal


@dataclass(frozen=True, slots=True)
class Effect:
    """pieces: of advice to clean or restore; dearer, cheaper: by more than a twentieth; lost: that no longer pay.

    Whether another method would now be better is told only once the advice is worked out anew.
    """

    pieces: int
    dearer: int
    cheaper: int
    lost: int

    @property
    def changed(self) -> int:
        """How many change their price."""
        return self.dearer + self.cheaper


def effect_of(priced: Iterable[Priced]) -> Effect:
    """Counted over open advice. What is saved falls by what the price rises."""
    rows = list(priced)
    moved = [(row, row.now - row.was) for row in rows if abs(row.now - row.was) > MATERIAL * row.was]
    return Effect(
        pieces=len(rows),
        dearer=sum(more > 0 for _, more in moved),
        cheaper=sum(more < 0 for _, more in moved),
        lost=sum(row.saves > 0 and row.saves - more <= 0 for row, more in moved),
    )
