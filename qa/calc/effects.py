"""What each deviation from a test method does to the result: it voids it, makes it a bound, or is a note.

The one place where this is decided, by the key of the deviation. That the method asks for something has the source
beside it; which way a deviation moves the rate is common practice and plain hydraulics, and is said so.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from core.calc.choices import TextChoice
from qa.calc.sources import Source, SourceStatus, from_memory, looked_up
from qa.calc.standards import ring_name


class Effect(TextChoice):
    """What a deviation does to the result of its test."""

    VOIDS = "voids", "Does not count"
    BOUNDS = "bounds", "Counts as an upper bound: the rate is at most this"
    NOTE = "note", "Counts; to be read with it"


@dataclass(frozen=True, slots=True)
class Consequence:
    """What one deviation does. in_short: the deviation in a few words, to stand behind a spot's name."""

    effect: Effect
    in_short: str
    source: Source

    def source_on(self, surface_type: str) -> Source:
        """The source as it stands for a kind of surface: the ring test by the standard that is written for it."""
        return replace(self.source, citation=self.source.citation.format(ring=ring_name(surface_type)))


_RING = "{ring}"  # filled in by the kind of surface
_TOLERANCE = from_memory(f"{_RING}: sizes and masses")
_DRY = Source(
    f"{_RING} ask for prewetting; that a dry surface takes water faster is common practice",
    SourceStatus.COMMON_PRACTICE,
)
_SIDEWAYS = Source(
    "Water that leaves sideways never goes through the tested area, so the rate reads too high",
    SourceStatus.COMMON_PRACTICE,
)
_WEATHER = from_memory(f"{_RING}: at least 24 h without rain, no standing water")
_OWN = Source("Judgement of this tool", SourceStatus.OWN_DEFAULT)
_FLOODING = looked_up(
    "Boogaard et al. 2014, Water 6(7):2070-2083 (three runs or more, saturated); Boogaard & Lucke 2019, "
    "Water 11(2):320 (unsaturated rates differ by up to 300 %)"
)

CONSEQUENCES: Mapping[str, Consequence] = MappingProxyType(
    {
        "ring_diameter": Consequence(Effect.NOTE, "the ring is not of the standard size", _TOLERANCE),
        "prewet_missing": Consequence(Effect.BOUNDS, "no prewetting was recorded", _DRY),
        "not_prewetted": Consequence(Effect.BOUNDS, "it was not prewetted", _DRY),
        "prewet_mass": Consequence(Effect.NOTE, "the prewet mass is off", _TOLERANCE),
        "prewet_too_little": Consequence(Effect.BOUNDS, "it was prewetted with too little water", _DRY),
        "test_mass": Consequence(Effect.NOTE, "the test mass is off", _TOLERANCE),
        "mass_for_prewet_time": Consequence(
            Effect.VOIDS,
            "too little water for the prewet time",
            from_memory(f"{_RING}: the large mass when prewetting took under 30 s"),
        ),
        # The rate is mass over time: more water only takes longer, and soaks the build-up more, not less.
        "more_water_than_asked": Consequence(
            Effect.NOTE,
            "more water than the prewet time asks for",
            Source(f"{_RING} ask for the small mass; that more water reads no faster is common practice",
                   SourceStatus.COMMON_PRACTICE),
        ),
        "start_delay": Consequence(
            Effect.BOUNDS,
            "it started too long after prewetting",
            # Seen in a concrete producer's brief on ASTM C1701, not in the standard.
            from_memory(f"{_RING}: within 2 min of prewetting"),
        ),
        "too_many_tests": Consequence(
            Effect.VOIDS,
            "it is a third test at the spot on one day",
            from_memory(f"{_RING}: at most two tests at a spot a day"),
        ),
        "repeat_gap": Consequence(
            Effect.BOUNDS,
            "the repeat without new prewetting started too late",
            from_memory(f"{_RING}: a repeat without prewetting within 5 min of the first"),
        ),
        "leak": Consequence(Effect.BOUNDS, "water left past the seal", _SIDEWAYS),
        "bounded_both_ways": Consequence(
            Effect.VOIDS,
            "it drained too fast to hold the head, and reads too high besides",
            Source("A rate that may lie above and below the reading says nothing", SourceStatus.DERIVED),
        ),
        "faster_than_gravel": Consequence(Effect.VOIDS, "it reads faster than open gravel drains", _OWN),
        "falls_differ": Consequence(Effect.NOTE, "the falls differ", _OWN),
        "square_ring_drop": Consequence(
            Effect.NOTE,
            "the drop is not the method's",
            looked_up("9th Int. Conf. on Concrete Block Paving, 2009, after AS 4693.5-2004: a drop of 20 mm"),
        ),
        "inner_frame_side": Consequence(
            Effect.NOTE,
            "the frame is not of the method's size",
            looked_up("9th Int. Conf. on Concrete Block Paving, 2009: inner frame of 1 m by 1 m"),
        ),
        "outer_level": Consequence(Effect.BOUNDS, "the outer frame was not kept level", _SIDEWAYS),
        "dam_leaked": Consequence(Effect.BOUNDS, "water left past the dam", _SIDEWAYS),
        "too_few_floodings": Consequence(Effect.BOUNDS, "too few floodings were run", _FLOODING),
        "not_levelled_off": Consequence(Effect.BOUNDS, "the floodings had not levelled off", _FLOODING),
        "above_frame_range": Consequence(
            Effect.NOTE,
            "it lies above the range in which frame and ring agree",
            looked_up("Winston et al. 2016, J. Environ. Eng. 142"),
        ),
        "frozen": Consequence(
            Effect.VOIDS, "the surface was frozen", looked_up("EN 12697-40:2020: not on a frozen surface")
        ),
        "recent_rain": Consequence(Effect.VOIDS, "it rained less than 24 h before", _WEATHER),
        "rain_before": Consequence(
            Effect.NOTE,
            "it rained less than 24 h before",
            Source("The rule on rain is that of the ring test; a wet build-up shows a lower rate",
                   SourceStatus.COMMON_PRACTICE),
        ),
        "standing_water": Consequence(Effect.VOIDS, "water stood on the surface", _WEATHER),
        "wet_surface": Consequence(
            Effect.NOTE,
            "water stood on the surface",
            Source("Flooding wants a saturated surface; EN 12697-40:2020 allows a wet one",
                   SourceStatus.COMMON_PRACTICE),
        ),
        "too_few_locations": Consequence(
            Effect.NOTE, "too few spots for the area", from_memory(f"{_RING}: number of locations")
        ),
        "spacing": Consequence(Effect.NOTE, "spots lie too close together", from_memory(f"{_RING}: spacing")),
    }
)  # fmt: skip
