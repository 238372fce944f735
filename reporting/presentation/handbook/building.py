"""Recording what was built, and the checks while it is built."""

from core.calc.format import figure
from core.calc.translation import gettext as _
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
        _("Recording how it was built"),
        (
            text(
                _(
                    "Choose a surface’s type and the layers usual for it are filled in, from the surface course down "
                    "to the subgrade. Correct thickness, stone and porosity to what was built; a build-up used often "
                    "is kept and taken again. The page draws it true to scale."
                )
            ),
            picture("section", _("The build-up of an invented surface, as its page draws it.")),
            points(
                (
                    _("Porosity"),
                    _(
                        "is voids over total volume, usually {low} to {high} for stone. Stormwater manuals call it "
                        "void ratio; the void ratio of soil mechanics is another figure."
                    ).format(low=figure(low), high=figure(high)),
                ),
                (
                    _("Water in the build-up"),
                    _(
                        "is worked out from it: what the stone holds below the overflow, how long it takes to drain, "
                        "and what a rain does on the surface as tested and at its limit."
                    ),
                ),
                (
                    _("Soil tests"),
                    _(
                        "by double ring or test pit, at the depth of the subgrade. The slowest place counts, over a "
                        "safety factor, usually {least} to {most}."
                    ).format(least=figure(LEAST_FACTOR), most=figure(MOST_USUAL_FACTOR)),
                ),
                (
                    _("Sieve analyses"),
                    _(
                        "of delivered stone are held against their grading band, and each layer against the next: the "
                        "upper one must not fall into the voids of the lower one."
                    ),
                ),
            ),
            *_checks(),
        ),
    )


def _checks() -> tuple[Block, ...]:
    """What is looked at while it is built."""
    return (
        title(_("Checks while it is built")),
        text(
            _(
                "Open the construction record before work begins. It lays out the checks of this kind of surface stage "
                "by stage, from “{first}” to “{last}”, each with what is asked, the source of it, and how many "
                "readings settle it."
            ).format(first=Stage.BEFORE_DIGGING.label, last=Stage.FINISH.label)
        ),
        caution(_(disclaimers.UTILITIES), _("Excavations are shored and fenced as local rules ask.")),
        points(
            (
                _("Hold points"),
                _(
                    "stop the next stage until they are answered, since what they look at will be covered. "
                    "Photograph it."
                ),
            ),
            (
                _("A failed check"),
                _(
                    "asks for corrective work, is checked again, and keeps both. A check may be left out with a reason "
                    "and a name."
                ),
            ),
            (
                _("The handover record"),
                _(
                    "gathers build-up, checks, gradings, soil and the acceptance test in one document for the owner."
                ),
            ),
        ),
    )
