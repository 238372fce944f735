"""Sentences about water in the build-up: what a rain does, the traps of its formulas, and the cautions."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.format import format_short_length
from qa.calc.numbers import short
from qa.calc.rain import EVEN, RainFate
from qa.models import Surface
from qa.presentation import disclaimers
from qa.selectors.water import RainAsked, RainCase, SurfaceWater

TRAPS = (
    _lazy(
        "Porosity is voids over total volume, and that is meant throughout. Manuals on stormwater call it void ratio; "
        "the void ratio of soil mechanics is voids over solids, 0.667 for a porosity of 0.40."
    ),
    _lazy(
        "The soil's rate is taken as the design rate: the measured one divided by a safety factor of 2 to 3. Some "
        "guides print it in metres a day beside a time in hours; here it is in mm/h (in/h) and the time in hours."
    ),
    _lazy(
        "The footprint is a mass balance of the reservoir alone. A form in print lets the soil take water under the "
        "whole catchment and comes out too small: 375 instead of 500 m² for 1500 m², 15 mm/h over 4 h, 5 mm/h and 400 "
        "mm at 0.40. It is not used."
    ),
    _lazy(
        "The rain rises to its peak halfway and falls as it rose, so that a burst on a clogged surface runs off even "
        "where the mean would soak in. The sizing formulas take it as even."
    ),
    _lazy(
        "A reuse store is filled by what leaves through the overflow or the drain; what soaks away never reaches it."
    ),
    _lazy(
        "All the rain on the contributing area is taken to reach the surface, and the build-up to be empty when it "
        "starts."
    ),
    _lazy(
        "Where a depth formula gives less than nothing, no stone is needed for storage; strength may still ask for it."
    ),
)

CAUTIONS = (
    _lazy(disclaimers.DESIGN_AID_ONLY),
    _lazy(
        "Verify setbacks locally. Keep infiltration away from foundations, wells and water tables as the local rule "
        "says."
    ),
    _lazy(
        "No infiltration from fuelling, vehicle service, hazardous storage, heavy industry or contaminated soil: "
        "use a liner."
    ),
    _lazy(
        "De-icing salt is not held back: chloride reaches the groundwater. Keep salted snow off where wells are near."
    ),
    _lazy(disclaimers.UTILITIES),
    _lazy("The overflow route, and ponding when the surface freezes or fails, must be safe for buildings."),
    _lazy("Trees, frost heave, swelling clay, fill, slopes and heavy vehicles need a specialist's review."),
)


_SENTENCES = {  # by whether the rain has a peak, and whether more water runs on
    (False, False): gettext_noop("{rain} of rain in {hours} h brings {inflow} of water over the surface."),
    (False, True): gettext_noop(
        "{rain} of rain in {hours} h brings {inflow} of water over the surface with its run-on."
    ),
    (True, False): gettext_noop(
        "{rain} of rain in {hours} h, {times} times as heavy at its peak, brings {inflow} of water over the surface."
    ),
    (True, True): gettext_noop(
        "{rain} of rain in {hours} h, {times} times as heavy at its peak, brings {inflow} of water over the surface "
        "with its run-on."
    ),
}


def rain_sentence(surface: Surface, water: SurfaceWater, asked: RainAsked, units: str) -> str:
    """What the rain does, in words, for each rate of the surface that is shown."""
    if not water.cases:
        return ""
    said = _SENTENCES[asked.peak_factor != EVEN, bool(surface.run_on_area_m2)]
    told = _(said).format(
        rain=format_short_length(asked.rain_mm, units),
        hours=short(asked.duration_h),
        times=short(asked.peak_factor),
        inflow=format_short_length(water.cases[0].fate.inflow_mm, units),
    )
    return " ".join([told, *(_case_sentence(case, units) for case in water.cases)])


# Where water goes: the part's name, and what is said of its depth.
_PARTS = {
    "soaks away": gettext_noop("{depth} soaks away"),
    "goes to the reuse store": gettext_noop("{depth} goes to the reuse store"),
    "stays in the stone": gettext_noop("{depth} stays in the stone"),
    "leaves by the overflow": gettext_noop("{depth} leaves by the overflow"),
    "runs off the surface": gettext_noop("{depth} runs off the surface"),
}


def _case_sentence(case: RainCase, units: str) -> str:
    parts = [
        _(_PARTS[part]).format(depth=format_short_length(value, units))
        for part, value in fate_parts(case.fate)
        if value > 1e-9
    ]
    # Translators: {case} is which rate of the surface, {parts} where the water goes.
    said = _("{case}: {parts}.")
    return said.format(case=case.name, parts=", ".join(parts) or _("nothing happens"))


def fate_parts(fate: RainFate) -> list[tuple[str, float]]:
    """Where the water goes, each part by its name in English, with mm."""
    return [
        ("soaks away", fate.soaked_mm),
        ("goes to the reuse store", fate.kept_for_reuse_mm),
        ("stays in the stone", fate.held_mm),
        ("leaves by the overflow", fate.overflowed_mm),
        ("runs off the surface", fate.ran_off_mm),
    ]


def part_name(part: str) -> str:
    """A part by its name in the reader's language."""
    return {
        "soaks away": _("soaks away"),
        "goes to the reuse store": _("goes to the reuse store"),
        "stays in the stone": _("stays in the stone"),
        "leaves by the overflow": _("leaves by the overflow"),
        "runs off the surface": _("runs off the surface"),
    }[part]
