"""A snapshot as text in the reader's units."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

import pytest

from accounts.calc.audience import Audience
from core.calc.bounds import Bound
from reporting.calc.values import BoundedRate, Money, UnitText
from reporting.presentation.words import worded


@dataclass(frozen=True)
class Part:
    on: date
    text: UnitText
    rate: BoundedRate | None
    cost: Money
    key: UUID
    audience: Audience
    count: int
    parts: tuple[BoundedRate, ...]


KEY = UUID(int=7)
PART = Part(
    date(2026, 1, 31),
    UnitText("2 mm", "0.08 in"),
    None,
    Money(Decimal("1234.5"), "EUR"),
    KEY,
    Audience.OWNER,
    3,
    (BoundedRate(254.0), BoundedRate(254.0, Bound.BELOW)),
)


def test_every_value_becomes_what_a_reader_of_si_units_reads():
    assert worded(PART, "si") == {
        "on": "31\u00a0Jan\u00a02026",
        "text": "2 mm",
        "rate": "",
        "cost": "1,234.50 EUR",
        "key": str(KEY),
        "audience": "owner",
        "count": 3,
        "parts": ["254 mm/h", "< 254 mm/h"],
    }


def test_the_reader_of_us_units_reads_those():
    said = worded(PART, "us")

    assert (said["text"], said["parts"]) == ("0.08 in", ["10 in/h", "< 10 in/h"])


def test_what_no_snapshot_holds_is_a_programmers_mistake():
    with pytest.raises(TypeError, match="A snapshot holds no object"):
        worded(object(), "si")
