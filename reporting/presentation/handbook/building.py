"""Recording what was built, and the checks while it is built."""

from core.calc.format import figure
from qa.calc.check_model import Stage
from qa.calc.hydraulics import POROSITY_USUAL
from qa.calc.soil import LEAST_FACTOR, MOST_USUAL_FACTOR
from qa.presentation import disclaimers
from reporting.presentation.handbook.blocks import Block, Chapter, caution, picture, points, text, title


def building() -> Chapter:
    """The build-up, the construction record, soil and stone."""
    low, high = POROSITY_USUAL
    return Chapter(
        "building",
        "Recording how it was built",
        (
            text(
                "Choose a surface’s type and the layers usual for it are filled in, from the surface course down to "
                "the subgrade. Correct thickness, stone and porosity to what was built; a build-up used often is "
                "kept and taken again. The page draws it true to scale."
            ),
            picture("section", "The build-up of an invented surface, as its page draws it."),
            points(
                (
                    "Porosity",
                    f"is voids over total volume, usually {figure(low)} to {figure(high)} for stone. Stormwater "
                    "manuals call it void ratio; the void ratio of soil mechanics is another figure.",
                ),
                (
                    "Water in the build-up",
                    "is worked out from it: what the stone holds below the overflow, how long it takes to drain, and "
                    "what a rain does on the surface as tested and at its limit.",
                ),
                (
                    "Soil tests",
                    "by double ring or test pit, at the depth of the subgrade. The slowest place counts, over a safety "
                    f"factor, usually {figure(LEAST_FACTOR)} to {figure(MOST_USUAL_FACTOR)}.",
                ),
                (
                    "Sieve analyses",
                    "of delivered stone are held against their grading band, and each layer against the next: the "
                    "upper one must not fall into the voids of the lower one.",
                ),
            ),
            *_checks(),
        ),
    )


def _checks() -> tuple[Block, ...]:
    """What is looked at while it is built."""
    return (
        title("Checks while it is built"),
        text(
            "Open the construction record before work begins. It lays out the checks of this kind of surface stage by "
            f"stage, from “{Stage.BEFORE_DIGGING.label}” to “{Stage.FINISH.label}”, each with what is asked, the "
            "source of it, and how many readings settle it."
        ),
        caution(f"{disclaimers.UTILITIES} Excavations are shored and fenced as local rules ask."),
        points(
            (
                "Hold points",
                "stop the next stage until they are answered, since what they look at will be covered. "
                "Photograph it.",
            ),
            (
                "A failed check",
                "asks for corrective work, is checked again, and keeps both. A check may be left out with a reason "
                "and a name.",
            ),
            (
                "The handover record",
                "gathers build-up, checks, gradings, soil and the acceptance test in one document for the owner.",
            ),
        ),
    )
