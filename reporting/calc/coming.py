"""When somebody comes, what for, and what may be taken away at a site."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID


@dataclass(frozen=True, slots=True)
class ComingVisit:
    """A day on which somebody comes. works: what is done, with the surface where a site is read.

    begins_min, ends_min: minutes from midnight at the site, where a plan of work gives them.
    crew, key: who comes, and the visit itself; empty where the reader may not know.
    """

    on: date
    works: tuple[str, ...]
    begins_min: int | None = None
    ends_min: int | None = None
    crew: str = ""
    key: UUID | None = None


@dataclass(frozen=True, slots=True)
class Certificate:
    """A round of tests with its certificate. purpose: what it was made for."""

    key: UUID
    surface: str
    on: date
    purpose: str


@dataclass(frozen=True, slots=True)
class HandoverPaper:
    """The handover record of a surface as it is today."""

    key: UUID
    surface: str


@dataclass(frozen=True, slots=True)
class Downloads:
    """Papers of a site besides those that were kept."""

    handovers: tuple[HandoverPaper, ...]
    certificates: tuple[Certificate, ...]
