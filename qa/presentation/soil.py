"""Soil tests as rows of a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.utils.translation import gettext as _

from core.calc.format import format_rate, format_short_length
from qa.models import SoilTest, Surface
from qa.presentation.worked import Worked
from qa.presentation.worked_ground import worked_soil
from qa.selectors.water import SoilTested, soil_warning


class SoilRow(NamedTuple):
    """One test in words; `settled` says whether the last two runs agree."""

    test: SoilTest
    how: str
    rate: str
    runs: str
    settled: str


def soil_rows(soil: SoilTested | None, units: str) -> list[SoilRow]:
    """A row a test, newest first."""
    return [_row(test, units) for test in soil.tests] if soil else []


def _row(test: SoilTest, units: str) -> SoilRow:
    result = test.result
    how = str(test.get_method_display())
    if test.depth_mm is not None:
        how = _("{method}, {depth} deep").format(method=how, depth=format_short_length(test.depth_mm, units))
    again = _("not yet steady: soak longer and run again")
    settled = _("the last two agree") if result.is_steady else again
    runs = ", ".join(format_rate(rate, units) for rate in result.by_run_mm_h)
    return SoilRow(test, how, format_rate(result.rate_mm_h, units), runs, settled)


@dataclass(frozen=True, slots=True)
class SoilPart:
    """What the page of the water shows of the soil's tests; `tested` is None where there are none."""

    tested: SoilTested | None
    rows: Sequence[SoilRow]
    warning: str
    worked: Worked | None = None


def soil_part(surface: Surface, tested: SoilTested | None, units: str) -> SoilPart:
    """Put together what the tests say and what to say beside it."""
    warning = soil_warning(surface, tested, units)
    return SoilPart(tested, soil_rows(tested, units), warning, worked_soil(tested, units))
