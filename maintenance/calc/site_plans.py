"""Where a site's plan for winter and for spills begins: texts that the firm edits, and what a training covers.

The texts are common practice, no source, but for these, which are looked up: no sand for traction and no snow piled on
the surface (Minnesota Stormwater Manual, operation and maintenance of permeable pavement); salt sparingly, since it
reaches the groundwater (Ontario low impact development guide). A document that stands behind a plan is named by the
firm, beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.translation import gettext_noop

WINTER = ("spread", "clearing", "snow_stored", "snow_kept_off")
SPILLS = ("spill_first", "spill_calls", "spill_never", "spill_after")
STARTING_TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "spread": gettext_noop(
            "No sand and no grit: they fill the joints and pores. Salt sparingly and only where it is needed; it is "
            "not held back and reaches the groundwater. On young concrete only what its maker allows."
        ),
        "clearing": gettext_noop(
            "Set the blade 10 to 25 mm (3/8 to 1 in) above the surface, or use a rubber edge or shoes. Lift it over "
            "edges and covers. No studded tracks."
        ),
        "snow_stored": gettext_noop(
            "On a lawn or on dense paving that drains away from the permeable surface, at the low side."
        ),
        "snow_kept_off": gettext_noop(
            "Not on the permeable surface and not above it: meltwater carries sediment and grit on to it. Not over "
            "inlets, observation wells or the overflow."
        ),
        "spill_first": gettext_noop(
            "Keep people and vehicles off. Stop the leak where that is safe. Contain it with absorbent, sheets or a "
            "bund before it reaches joints, inlets and the overflow. Close the outlet where it has a valve."
        ),
        "spill_never": gettext_noop(
            "Do not hose it into the joints, and spread no detergent or dispersant. Do not sweep absorbent in."
        ),
        "spill_after": gettext_noop(
            "Have what was taken up disposed of as the local rule asks. Test the rate where it was spilled; take out "
            "and replace joint fill or paving and bedding that took it up. Record it before water is let on again."
        ),
    }
)
PREVAILS = gettext_noop(
    "In an emergency call the local emergency number first. Local rules on spills and de-icing prevail, and what "
    "reached soil or groundwater is for the authority and a licensed professional to judge."
)


class Topic(TextChoice):
    """What a training covered."""

    HOW_IT_WORKS = "how_it_works", "How the surface takes water, and what clogs it"
    LOOKING = "looking", "What to look at each spring and after storms"
    SWEEPING = "sweeping", "Sweeping and vacuuming, and what not to use"
    KEEP_OFF = "keep_off", "What is not piled, mixed or washed on it"
    JOINTS = "joints", "Topping up joints"
    WINTER = "winter", "Winter: clearing, spreading, where snow is piled"
    SPILLS = "spills", "Spills: first steps and whom to call"
    WELL = "well", "Reading the observation well"
    CALLING = "calling", "When to call the firm"


@dataclass(frozen=True, slots=True)
class Trained:
    """Somebody who was trained, and what they do at the site."""

    name: str
    role: str


@dataclass(frozen=True, slots=True)
class TrainingFacts(Payload):
    """Who was trained, and in what. other: what is not among the topics."""

    SCHEMA: ClassVar[int] = 1

    people: tuple[Trained, ...] = ()
    topics: tuple[Topic, ...] = ()
    other: tuple[str, ...] = ()

    @property
    def covered(self) -> tuple[str, ...]:
        """What was covered, in words."""
        return (*(topic.label for topic in self.topics), *self.other)
