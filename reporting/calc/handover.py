"""The handover record as typed plain data: what was asked, built, found, corrected and tested, layer by layer."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, ClassVar
from uuid import UUID

from accounts.calc.audience import Audience
from core.calc.payload import Payload, Upgrade
from qa.calc.acceptance import Judgement
from qa.calc.check_progress import CheckStatus, Outcome
from reporting.calc.handing_over import SitePlanPart, TrainingPart
from reporting.calc.older_sources import sources_named
from reporting.calc.parts import AskedRate, BuildUpPart, FilePart, FindingPart
from reporting.calc.values import BoundedRate, UnitText, grown


@dataclass(frozen=True, slots=True)
class FactPart:
    """One fact of the surface."""

    name: str
    value: UnitText


@dataclass(frozen=True, slots=True)
class CorrectivePart:
    """What was done about a failure."""

    on: date
    by: str
    what: str
    files: tuple[FilePart, ...]


@dataclass(frozen=True, slots=True)
class EntryPart:
    """One finding. judged: what was asked then, where it differs; aside: why it no longer counts, where it does not."""

    on: date
    by: str
    where: str
    found: UnitText
    judged: UnitText | None
    outcome: Outcome
    word: str
    rechecked: bool
    note: str
    reason: str
    aside: str
    works: tuple[CorrectivePart, ...]
    files: tuple[FilePart, ...]


@dataclass(frozen=True, slots=True)
class TestedPart:
    """What an acceptance round says to a check; it stays open while the round cannot tell."""

    on: date
    text: UnitText
    outcome: CheckStatus
    word: str


@dataclass(frozen=True, slots=True)
class CheckPart:
    """One check with everything found. readings: how many of how many; contradicts: what the build-up says.

    unverified: the document it rests on that the firm has not verified, as in all parts that have a source.
    """

    asked: UnitText
    criterion: UnitText
    source: str
    hold_point: bool
    status: CheckStatus
    word: str
    entries: tuple[EntryPart, ...]
    tested: tuple[TestedPart, ...]
    contradicts: tuple[UnitText, ...] = ()
    readings: str = ""
    unverified: str = ""


@dataclass(frozen=True, slots=True)
class StagePart:
    """One stage of the work."""

    name: str
    settled: int
    total: int
    checks: tuple[CheckPart, ...]


@dataclass(frozen=True, slots=True)
class TestLine:
    """One test. rate: None for a method without one; text: the result in words; read: the readings as taken.

    left_out: why it does not count, empty for one that does.
    """

    __test__ = False

    spot: str
    rate: BoundedRate | None
    text: UnitText
    read: str
    departures: tuple[str, ...]
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class RoundPart:
    """One acceptance round. mean, lowest: of the method that speaks for it, None while no test with a rate counts.

    by_method: that method's name, where it is not the ring that an acceptance rate is asked of.
    """

    key: UUID
    on: date
    by: str
    weather: UnitText
    mean: BoundedRate | None
    lowest: BoundedRate | None
    by_method: str
    spots: UnitText
    judgement: Judgement
    verdict: str
    reason: UnitText
    departures: tuple[str, ...]
    tests: tuple[TestLine, ...]
    files: tuple[FilePart, ...]


@dataclass(frozen=True, slots=True)
class CarePart:
    """Something to do or to mind, with where it comes from."""

    what: str
    source: str
    unverified: str = ""


@dataclass(frozen=True, slots=True)
class HandoverAcceptance:
    """What is required for acceptance, the rounds made for it, oldest first. ring: the standard of the ring test."""

    asked: AskedRate | None
    rounds: tuple[RoundPart, ...]
    ring: CarePart | None = None


@dataclass(frozen=True, slots=True)
class SieveLine:
    """One sieve: percent passing and the limits of its band, None where there is none. state: as the table says it."""

    sieve: str
    passing_percent: float | None
    low_percent: float | None
    high_percent: float | None
    state: str


@dataclass(frozen=True, slots=True)
class GradingPart:
    """One sieve analysis."""

    layer: str
    on: date
    by: str
    band: str
    passes: bool
    source: str
    lines: tuple[SieveLine, ...]
    remarks: tuple[str, ...]
    unverified: str = ""


def _sizes_in_both(fields: dict[str, Any]) -> dict[str, Any]:
    """Of the first edition: a check was asked in one text for all, and did not say how many readings there were."""
    return fields | {
        "stages": [
            stage | {"checks": [_check_in_both(check) for check in stage["checks"]]}
            for stage in fields["stages"]
        ]
    }


def _check_in_both(check: dict[str, Any]) -> dict[str, Any]:
    asked = {"si": check["asked"], "us": check["asked"]}
    return check | {"asked": asked, "contradicts": [], "readings": ""}


@dataclass(frozen=True, slots=True)
class LookPart:
    """An inspection, or a change of what washes fines on to the surface. aside: why it no longer counts."""

    on: date
    by: str
    title: str
    detail: str
    remarks: tuple[str, ...]
    findings: tuple[FindingPart, ...]
    aside: str


@dataclass(frozen=True, slots=True)
class HandoverSnapshot(Payload):
    """What the handover record says. complete: whether every construction check is settled."""

    SCHEMA: ClassVar[int] = 4
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType(
        {1: _sizes_in_both, 2: grown, 3: sources_named}
    )

    audience: Audience
    key: UUID
    site_key: UUID
    surface: str
    site: str
    address: str
    owner: str
    firm: str
    surface_type: str
    made_on: date
    demo_notice: str
    checks_in_short: str
    complete: bool
    facts: tuple[FactPart, ...]
    build_up: BuildUpPart
    stages: tuple[StagePart, ...]
    gradings: tuple[GradingPart, ...]
    limit: AskedRate
    acceptance: HandoverAcceptance
    files: tuple[FilePart, ...]
    upkeep: tuple[CarePart, ...]
    methods: tuple[CarePart, ...]
    cautions: tuple[str, ...]
    looks: tuple[LookPart, ...] = ()
    plan: SitePlanPart | None = None
    trainings: tuple[TrainingPart, ...] = ()
