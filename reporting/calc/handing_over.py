"""What the owner is left with, as plain data: the plan for winter and for spills, and who was trained."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID


@dataclass(frozen=True, slots=True)
class NamedText:
    """A part of a plan."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class PlanText:
    """One plan. source: the document behind it, or that it is common practice."""

    title: str
    lines: tuple[NamedText, ...]
    source: str


@dataclass(frozen=True, slots=True)
class SitePlanPart:
    """The plans of a site. prevails: what comes before them."""

    plans: tuple[PlanText, ...]
    prevails: str


@dataclass(frozen=True, slots=True)
class TrainedPart:
    """Somebody who was trained."""

    name: str
    role: str


@dataclass(frozen=True, slots=True)
class TrainingPart:
    """One training. people: none where the reader may not know names; count: how many they were."""

    key: UUID
    on: date
    by: str
    count: int
    people: tuple[TrainedPart, ...]
    covered: tuple[str, ...]
