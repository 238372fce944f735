"""What each deviation from a test method does to the result: it voids it, makes it a bound, or is a note.

The one place where this is decided, by the key of the deviation. That the method asks for something has the source
beside it; which way a deviation moves the rate is common practice and plain hydraulics, and is said so.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from core.calc.choices import TextChoice
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from qa.calc.sources import Source, SourceStatus, from_memory, looked_up
from qa.calc.standards import ring_name


class Effect(TextChoice):
    """What a deviation does to the result of its test."""

    VOIDS = "voids", "Does not count"
    BOUNDS = "bounds", "Counts as an upper bound: the rate is at most this"
    NOTE = "note", "Counts; to be read with it"


@dataclass(frozen=True, slots=True)
class Consequence:
    """What one deviation does. written: the deviation in a few words of English, to stand behind a spot's name."""

    effect: Effect
    written: str
    source: Source

    def source_on(self, surface_type: str) -> Source:
        """The source as it stands for a kind of surface: the ring test by the standard that is written for it."""
        return replace(self.source, citation=self.source.said.format(ring=ring_name(surface_type)))

    @property
    def in_short(self) -> str:
        """The deviation in a few words, in the reader's language."""
        return _(self.written)


# {ring} is filled in by the kind of surface.
_TOLERANCE = from_memory(gettext_noop("{ring}: sizes and masses"))
_DRY = Source(
    gettext_noop("{ring} ask for prewetting; that a dry surface takes water faster is common practice"),
    SourceStatus.COMMON_PRACTICE,
)
_SIDEWAYS = Source(
    gettext_noop("Water that leaves sideways never goes through the tested area, so the rate reads too high"),
    SourceStatus.COMMON_PRACTICE,
)
_WEATHER = from_memory(gettext_noop("{ring}: at least 24 h without rain, no standing water"))
_OWN = Source(gettext_noop("Judgement of this tool"), SourceStatus.OWN_DEFAULT)
_FLOODING = looked_up(
    gettext_noop(
        "Boogaard et al. 2014, Water 6(7):2070-2083 (three runs or more, saturated); Boogaard & Lucke 2019, "
        "Water 11(2):320 (unsaturated rates differ by up to 300 %)"
    )
)

CONSEQUENCES: Mapping[str, Consequence] = MappingProxyType(
    {
        "ring_diameter": Consequence(Effect.NOTE, gettext_noop("the ring is not of the standard size"), _TOLERANCE),
        "prewet_missing": Consequence(Effect.BOUNDS, gettext_noop("no prewetting was recorded"), _DRY),
        "not_prewetted": Consequence(Effect.BOUNDS, gettext_noop("it was not prewetted"), _DRY),
        "prewet_mass": Consequence(Effect.NOTE, gettext_noop("the prewet mass is off"), _TOLERANCE),
        "prewet_too_little": Consequence(Effect.BOUNDS, gettext_noop("it was prewetted with too little water"), _DRY),
        "test_mass": Consequence(Effect.NOTE, gettext_noop("the test mass is off"), _TOLERANCE),
        "mass_for_prewet_time": Consequence(
            Effect.VOIDS,
            gettext_noop("too little water for the prewet time"),
            from_memory(gettext_noop("{ring}: the large mass when prewetting took under 30 s")),
        ),
        # The rate is mass over time: more water only takes longer, and soaks the build-up more, not less.
        "more_water_than_asked": Consequence(
            Effect.NOTE,
            gettext_noop("more water than the prewet time asks for"),
            Source(gettext_noop("{ring} ask for the small mass; that more water reads no faster is common practice"),
                   SourceStatus.COMMON_PRACTICE),
        ),
        "start_delay": Consequence(
            Effect.BOUNDS,
            gettext_noop("it started too long after prewetting"),
            # Seen in a concrete producer's brief on ASTM C1701, not in the standard.
            from_memory(gettext_noop("{ring}: within 2 min of prewetting")),
        ),
        "too_many_tests": Consequence(
            Effect.VOIDS,
            gettext_noop("it is a third test at the spot on one day"),
            from_memory(gettext_noop("{ring}: at most two tests at a spot a day")),
        ),
        "repeat_gap": Consequence(
            Effect.BOUNDS,
            gettext_noop("the repeat without new prewetting started too late"),
            from_memory(gettext_noop("{ring}: a repeat without prewetting within 5 min of the first")),
        ),
        "leak": Consequence(Effect.BOUNDS, gettext_noop("water left past the seal"), _SIDEWAYS),
        "bounded_both_ways": Consequence(
            Effect.VOIDS,
            gettext_noop("it drained too fast to hold the head, and reads too high besides"),
            Source(gettext_noop("A rate that may lie above and below the reading says nothing"), SourceStatus.DERIVED),
        ),
        "faster_than_gravel": Consequence(Effect.VOIDS, gettext_noop("it reads faster than open gravel drains"), _OWN),
        "falls_differ": Consequence(Effect.NOTE, gettext_noop("the falls differ"), _OWN),
        "square_ring_drop": Consequence(
            Effect.NOTE,
            gettext_noop("the drop is not the method's"),
            looked_up(
                gettext_noop("9th Int. Conf. on Concrete Block Paving, 2009, after AS 4693.5-2004: a drop of 20 mm")
            ),
        ),
        "inner_frame_side": Consequence(
            Effect.NOTE,
            gettext_noop("the frame is not of the method's size"),
            looked_up(gettext_noop("9th Int. Conf. on Concrete Block Paving, 2009: inner frame of 1 m by 1 m")),
        ),
        "outer_level": Consequence(Effect.BOUNDS, gettext_noop("the outer frame was not kept level"), _SIDEWAYS),
        "dam_leaked": Consequence(Effect.BOUNDS, gettext_noop("water left past the dam"), _SIDEWAYS),
        "too_few_floodings": Consequence(Effect.BOUNDS, gettext_noop("too few floodings were run"), _FLOODING),
        "not_levelled_off": Consequence(Effect.BOUNDS, gettext_noop("the floodings had not levelled off"), _FLOODING),
        "above_frame_range": Consequence(
            Effect.NOTE,
            gettext_noop("it lies above the range in which frame and ring agree"),
            looked_up(gettext_noop("Winston et al. 2016, J. Environ. Eng. 142")),
        ),
        "frozen": Consequence(
            Effect.VOIDS,
            gettext_noop("the surface was frozen"),
            looked_up(gettext_noop("EN 12697-40:2020: not on a frozen surface")),
        ),
        "recent_rain": Consequence(Effect.VOIDS, gettext_noop("it rained less than 24 h before"), _WEATHER),
        "rain_before": Consequence(
            Effect.NOTE,
            gettext_noop("it rained less than 24 h before"),
            Source(gettext_noop("The rule on rain is that of the ring test; a wet build-up shows a lower rate"),
                   SourceStatus.COMMON_PRACTICE),
        ),
        "standing_water": Consequence(Effect.VOIDS, gettext_noop("water stood on the surface"), _WEATHER),
        "wet_surface": Consequence(
            Effect.NOTE,
            gettext_noop("water stood on the surface"),
            Source(gettext_noop("Flooding wants a saturated surface; EN 12697-40:2020 allows a wet one"),
                   SourceStatus.COMMON_PRACTICE),
        ),
        "too_few_locations": Consequence(
            Effect.NOTE,
            gettext_noop("too few spots for the area"),
            from_memory(gettext_noop("{ring}: number of locations")),
        ),
        "spacing": Consequence(Effect.NOTE, gettext_noop("spots lie too close together"),
            from_memory(gettext_noop("{ring}: spacing"))),
    }
)  # fmt: skip
