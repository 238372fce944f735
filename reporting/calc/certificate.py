"""The certificate of a test round as typed plain data: by which method, what was read, and what it says."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from accounts.calc.audience import Audience
from reporting.calc.handover import TestLine
from reporting.calc.parts import AskedRate
from reporting.calc.values import BoundedRate, UnitText


@dataclass(frozen=True, slots=True)
class MethodLine:
    """A method that was used. standard: what it is named by; caution: what it cannot say.

    unverified: the document it rests on that the firm has not verified.
    """

    name: str
    standard: str
    caution: str
    unverified: str = ""


@dataclass(frozen=True, slots=True)
class DepartureLine:
    """A departure from the method. where: the spots, or the round as a whole; effect: what it does to the result."""

    where: str
    what: str
    effect: str


@dataclass(frozen=True, slots=True)
class ResultPart:
    """What the round says. reached: whether what is asked is reached; None where that cannot be told."""

    reached: bool | None
    word: str
    reason: UnitText


@dataclass(frozen=True, slots=True)
class CertificateSnapshot:
    """What the certificate of one round on one surface says.

    mean, lowest: by the method that speaks for the round, None while no test with a rate counts; by_method: its name.
    tested_by: empty for who may not read names. set_aside: tests of the round that were replaced or set aside.
    """

    audience: Audience
    key: UUID
    surface: str
    site: str
    address: str
    owner: str
    firm: str
    surface_type: str
    area: UnitText
    purpose: str
    tested_on: date
    made_on: date
    demo_notice: str
    methods: tuple[MethodLine, ...]
    result: ResultPart
    mean: BoundedRate | None
    lowest: BoundedRate | None
    by_method: str
    spots: UnitText
    limit: AskedRate
    asked: AskedRate | None
    tests: tuple[TestLine, ...]
    departures: tuple[DepartureLine, ...]
    set_aside: int
    weather: UnitText
    tested_by: str
    cautions: tuple[str, ...]
