"""Reports of plain data, for tests that need no database."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from maintenance.calc.decline import CleaningMark, DeclineRecord, LimitReach, MeasuredRate, RoundMean
from maintenance.calc.forecast_payload import RateCurve
from reporting.calc.schemas import TYPES
from reporting.calc.snapshots import SnapshotKind

GOLDEN = Path(__file__).parent / "golden"


def golden_report(number=5):
    """The report that an edition kept."""
    stored = json.loads((GOLDEN / f"report-{number}.json").read_text(encoding="utf-8"))
    return TYPES[SnapshotKind.REPORT].from_json(stored)


def with_states(report, *states, **changes):
    """The report with a surface in each of these states, without advice."""
    (first, *_) = report.surfaces
    surfaces = tuple(
        replace(
            first,
            standing=replace(first.standing, state=state, name=f"Yard {number}", opens_later=False),
            advice=(),
        )
        for number, state in enumerate(states, 1)
    )
    return replace(report, surfaces=surfaces, **changes)


def curve(days, middle):
    """A curve with ranges of a half to twice its median."""
    return RateCurve(
        tuple(days),
        tuple(middle),
        tuple(rate / 1.5 for rate in middle),
        tuple(rate * 1.5 for rate in middle),
        tuple(rate / 2 for rate in middle),
        tuple(rate * 2 for rate in middle),
    )


TODAY = date(2026, 6, 1)


def decline(**changes):
    """A surface that declines, was cleaned once, and reaches its limit in two years."""
    past = curve(
        [date(2022, 6, 1), date(2024, 6, 1), date(2024, 6, 1), TODAY], [5000.0, 800.0, 4000.0, 1000.0]
    )
    future = curve([TODAY, date(2027, 6, 1), date(2028, 6, 1), date(2029, 6, 1)], [1000, 500, 240, 100])
    whole = DeclineRecord(
        past=past,
        future=future,
        below=(0.0, 0.05, 0.5, 0.98),
        tests=(
            MeasuredRate(date(2022, 7, 1), 4800.0, Bound.EXACT, "A", TestMethod.RING),
            MeasuredRate(date(2022, 7, 1), 6000.0, Bound.ABOVE, "B", TestMethod.RING),
            MeasuredRate(date(2024, 5, 1), 700.0, Bound.BELOW, "A", TestMethod.RING),
            MeasuredRate(date(2024, 5, 1), 650.0, Bound.EXACT, "C", TestMethod.SQUARE_DOUBLE_RING),
        ),
        rounds=(RoundMean(date(2022, 7, 1), 5200.0), RoundMean(date(2024, 5, 1), 700.0)),
        cleanings=(CleaningMark(date(2024, 6, 1), "Vacuum sweeping"),),
        limit_mm_h=250.0,
        reach=LimitReach(date(2027, 8, 1), date(2028, 5, 1), None),
        today=TODAY,
    )
    return replace(whole, **changes)
