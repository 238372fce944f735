"""What only a site's report is made of, as plain data: tests against the limit, the agreement, water, what is asked."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from core.calc.choices import TextChoice
from reporting.calc.certificate import ResultPart
from reporting.calc.values import BoundedRate, Money, UnitText


class AgainstLimit(TextChoice):
    """How one test stands to the limit of its surface."""

    REACHES = "reaches", "reaches it"
    BELOW = "below", "below it"
    CANNOT_TELL = "cannot_tell", "cannot tell"
    LEFT_OUT = "left_out", "left out"
    NO_RATE = "no_rate", "no rate"


@dataclass(frozen=True, slots=True)
class ReportedTest:
    """One test held against the limit. text: what it found, in words; departures: from the method, with effect."""

    spot: str
    rate: BoundedRate | None
    text: UnitText
    against_limit: AgainstLimit
    departures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReportedRound:
    """One round with its tests. mean: geometric, of its spots; departures: of the round as a whole."""

    key: UUID
    on: date
    purpose: str
    by: str
    mean: BoundedRate | None
    by_method: str
    result: ResultPart
    departures: tuple[str, ...]
    tests: tuple[ReportedTest, ...]


@dataclass(frozen=True, slots=True)
class AgreedCount:
    """What the agreement asked for in the period, and what was done, all surfaces together.

    done: of what was asked; more: done beyond that. behind: surfaces on which some of it is missing.
    """

    asked: int
    done: int
    more: int
    behind: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AgreedPart:
    """The agreement in the period."""

    tests: AgreedCount
    cleanings: AgreedCount


@dataclass(frozen=True, slots=True)
class WaitingQuote:
    """A quote that the owner can answer. total: with tax; lines: how many of it concern the site."""

    key: UUID
    name: str
    total: Money
    valid_until: date
    lines: int


@dataclass(frozen=True, slots=True)
class VisitToCome:
    """A day on which work is to be done at the site. work: what, and on which surface; by: the crew.

    surfaces: the key of the surface of each work; empty in what was kept before that was told.
    """

    on: date
    work: tuple[str, ...]
    by: str = ""
    surfaces: tuple[UUID, ...] = ()

    def at(self, key: UUID) -> list[str]:
        """What is to be done on one surface."""
        return [work for work, surface in zip(self.work, self.surfaces, strict=False) if surface == key]


@dataclass(frozen=True, slots=True)
class Volume:
    """An estimate in m³ with its range."""

    low_m3: float
    middle_m3: float
    high_m3: float


@dataclass(frozen=True, slots=True)
class WaterPart:
    """Where the rain of the period went at one surface, by a rain record. problem: why it cannot be said.

    covered_days: of `days`, those that the record tells of. rain_mm: on those. came: what fell on the surface and ran
    on to it; lost: wetted the ground and dried off; kept: None where no store for irrigation is recorded.
    how: how it was estimated, sentence by sentence; by_record: what the record says of soil and stone there.
    """

    record: str
    covered_days: float = 0.0
    days: int = 0
    rain_mm: float = 0.0
    came: Volume | None = None
    ground: Volume | None = None
    kept: Volume | None = None
    ran_off: Volume | None = None
    lost: Volume | None = None
    how: tuple[UnitText, ...] = ()
    by_record: UnitText | None = None
    problem: str = ""
