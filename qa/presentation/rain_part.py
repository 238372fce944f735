"""What a rain does with a build-up, as its part of the page shows it."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.presentation.charts import Chart
from qa.models import Surface
from qa.presentation.charts import course_chart, fate_chart, fate_rows
from qa.presentation.wording import rain_sentence
from qa.selectors.water import RainAsked, RainCase, SurfaceWater


@dataclass(frozen=True, slots=True)
class RainPart:
    """rows: for each part of the water, the case's name and the depth in mm. is_example: nobody chose this rain."""

    cases: Sequence[RainCase]
    fate: Chart | None
    course: Chart | None
    rows: Sequence[tuple[str, Sequence[tuple[str, float]]]]
    is_example: bool


def rain_part(
    surface: Surface, water: SurfaceWater, asked: RainAsked, units: str, *, chosen: bool
) -> RainPart:
    """Put it together. chosen: whether a person asked about this very rain."""
    said = rain_sentence(surface, water, asked, units)
    return RainPart(
        cases=water.cases,
        fate=fate_chart(water, said, units),
        course=course_chart(water, units),
        rows=fate_rows(water.cases),
        is_example=surface.design_intensity_mm_h is None and not chosen,
    )
