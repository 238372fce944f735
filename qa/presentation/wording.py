"""Sentences about water in the build-up: what a rain does, the traps of its formulas, and the cautions."""

from core.calc.format import format_short_length
from qa.calc.rain import EVEN, RainFate
from qa.models import Surface
from qa.presentation import disclaimers
from qa.selectors.water import RainAsked, RainCase, SurfaceWater

TRAPS = (
    "Porosity is voids over total volume, and that is meant throughout. Manuals on stormwater call it void ratio; "
    "the void ratio of soil mechanics is voids over solids, 0.667 for a porosity of 0.40.",
    "The soil's rate is taken as the design rate: the measured one divided by a safety factor of 2 to 3. Some guides "
    "print it in metres a day beside a time in hours; here it is in mm/h (in/h) and the time in hours.",
    "The footprint is a mass balance of the reservoir alone. A form in print lets the soil take water under the whole "
    "catchment and comes out too small: 375 instead of 500 m² for 1500 m², 15 mm/h over 4 h, 5 mm/h and 400 mm at "
    "0.40. It is not used.",
    "The rain rises to its peak halfway and falls as it rose, so that a burst on a clogged surface runs off even where "
    "the mean would soak in. The sizing formulas take it as even.",
    "A reuse store is filled by what leaves through the overflow or the drain; what soaks away never reaches it.",
    "All the rain on the contributing area is taken to reach the surface, and the build-up to be empty when it starts.",
    "Where a depth formula gives less than nothing, no stone is needed for storage; strength may still ask for it.",
)

CAUTIONS = (
    disclaimers.DESIGN_AID_ONLY,
    "Verify setbacks locally. Keep infiltration away from foundations, wells and water tables as the local rule says.",
    "No infiltration from fuelling, vehicle service, hazardous storage, heavy industry or contaminated soil: "
    "use a liner.",
    "De-icing salt is not held back: chloride reaches the groundwater. Keep salted snow off where wells are near.",
    disclaimers.UTILITIES,
    "The overflow route, and ponding when the surface freezes or fails, must be safe for buildings.",
    "Trees, frost heave, swelling clay, fill, slopes and heavy vehicles need a specialist's review.",
)


def rain_sentence(surface: Surface, water: SurfaceWater, asked: RainAsked, units: str) -> str:
    """What the rain does, in words, for each rate of the surface that is shown."""
    if not water.cases:
        return ""
    rain = format_short_length(asked.rain_mm, units)
    inflow = format_short_length(water.cases[0].fate.inflow_mm, units)
    peak = "" if asked.peak_factor == EVEN else f", {asked.peak_factor:g} times as heavy at its peak,"
    said = f"{rain} of rain in {asked.duration_h:g} h{peak} brings {inflow} of water over the surface"
    said += " with its run-on. " if surface.run_on_area_m2 else ". "
    return said + " ".join(_case_sentence(case, units) for case in water.cases)


def _case_sentence(case: RainCase, units: str) -> str:
    parts = [
        f"{format_short_length(value, units)} {what}" for what, value in fate_parts(case.fate) if value > 1e-9
    ]
    return f"{case.name}: {', '.join(parts) or 'nothing happens'}."


def fate_parts(fate: RainFate) -> list[tuple[str, float]]:
    """Where the water goes, in words with mm."""
    return [
        ("soaks away", fate.soaked_mm),
        ("goes to the reuse store", fate.kept_for_reuse_mm),
        ("stays in the stone", fate.held_mm),
        ("leaves by the overflow", fate.overflowed_mm),
        ("runs off the surface", fate.ran_off_mm),
    ]
