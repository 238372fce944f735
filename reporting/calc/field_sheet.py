"""A sheet to write a round of tests on by hand, as typed plain data."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from reporting.calc.values import UnitText


@dataclass(frozen=True, slots=True)
class SheetSpot:
    """A spot to be tested. where: how it is found; last: what the ring read there last; key: of the spot's row."""

    key: str
    label: str
    zone: str
    where: UnitText
    last: UnitText


@dataclass(frozen=True, slots=True)
class FieldSheet:
    """Everything that somebody needs who tests a surface and writes on paper.

    steps: of the ring test; asked: how many spots; plan: has a picture; round_on: empty where the round is not begun
    """

    key: UUID
    firm: str
    surface: str
    site: str
    address: str
    access: str
    about: UnitText
    limit: UnitText
    made_on: date
    round_on: date | None
    spots: tuple[SheetSpot, ...]
    more_spots: int
    asked: UnitText
    steps: UnitText
    source: str
    cautions: tuple[str, ...]
    demo_notice: str
