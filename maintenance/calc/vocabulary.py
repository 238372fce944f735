"""Lists of choices about care: what is advised, what became of it, what a surface's state is called."""

from core.calc.choices import TextChoice
from core.calc.paving import CleaningMethod
from core.calc.translation import gettext as _


class Action(TextChoice):
    """One thing to do to a surface."""

    TEST = "test", "Test"
    CLEAN = "clean", "Clean"
    REJOINT = "rejoint", "Restore"
    LOOK = "look", "Engineer's inspection"
    SOURCE = "source", "Find and stop the sediment"
    INSPECT = "inspect", "Inspect"
    REPAIR = "repair", "Repair"
    TOP_UP = "top_up", "Top up the joints"

    def in_words(self, method: str) -> str:
        """What is to be done, with the way of cleaning where it has one."""
        if not method:
            return self.label
        return _("{action}: {method}").format(action=self.label, method=CleaningMethod(method).label.lower())

    @property
    def cleans(self) -> bool:
        """Whether a cleaning is what gets it done."""
        return self in (Action.CLEAN, Action.REJOINT)

    @property
    def answers(self) -> "Action":
        """The question it answers, told by one answer: cleaning, restoring and looking at it answer the same."""
        return Action.CLEAN if self in (Action.CLEAN, Action.REJOINT, Action.LOOK) else self

    @property
    def rivals(self) -> "tuple[Action, ...]":
        """All that answer the same question, itself among them."""
        return tuple(action for action in Action if action.answers is self.answers)


class ForecastBasis(TextChoice):
    """What the parameters rest on that a forecast was made with."""

    RECORDS = "records", "the firm's records"
    PUBLISHED = "published", "published figures alone"
    OUTDATED = "outdated", "published figures, until a new fit takes the place of an outdated one"


class RecommendationStatus(TextChoice):
    """What became of a piece of advice."""

    OPEN = "open", "Open"
    PLANNED = "planned", "Planned"
    DECLINED = "declined", "Declined"
    PUT_OFF = "put_off", "Put off"
    DONE = "done", "Done"
    OVERTAKEN = "overtaken", "Overtaken by newer facts"


class ReleaseState(TextChoice):
    """What became of advice that an owner was shown."""

    STANDING = "standing", "Shown to the owner"
    REPLACED = "replaced", "Replaced by a newer release"
    WITHDRAWN = "withdrawn", "Withdrawn"


class RecordKind(TextChoice):
    """What a line of a surface's record tells of."""

    ROUND = "round", "Test round"
    CLEANING = "cleaning", "Cleaning"
    INSPECTION = "inspection", "Inspection"
    SOURCE = "source", "Source of sediment"


class SurfaceState(TextChoice):
    """What a person is told about a surface, by word and mark."""

    NOT_TESTED = "not_tested", "not tested yet"
    DRAINING = "draining", "draining well"
    WATCH = "watch", "watch"
    CLEAN_SOON = "clean_soon", "clean soon"
    BELOW_LIMIT = "below_limit", "below limit"


WORST_FIRST = (
    SurfaceState.BELOW_LIMIT,
    SurfaceState.CLEAN_SOON,
    SurfaceState.WATCH,
    SurfaceState.NOT_TESTED,
    SurfaceState.DRAINING,
)


class Wetness(TextChoice):
    """How the surface was when it was cleaned; a wet one gives less back."""

    DRY = "dry", "Dry"
    WET = "wet", "Wet"
