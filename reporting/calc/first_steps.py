"""What a new firm does until its first forecast, and what of it is done."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.calc.choices import TextChoice
from core.calc.translation import gettext as _


class StepKey(TextChoice):
    """The steps, in the order in which one rests on another."""

    OWNER = "owner", "Add the owner of the first site"
    SITE = "site", "Add the site"
    SURFACE = "surface", "Add its first surface"
    BUILD_UP = "build_up", "Enter how it was built"
    TEST = "test", "Record its first test"
    PRICES = "prices", "Look through prices and outputs"
    PEOPLE = "people", "Invite your people"
    FORECAST = "forecast", "See the first forecast"


# Without these there is a forecast too; it only says less, or fewer people see it.
OPTIONAL = frozenset({StepKey.BUILD_UP, StepKey.PRICES, StepKey.PEOPLE})


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a firm is. site, surface: the newest of each, None where there is none."""

    done: frozenset[StepKey]
    owner: str | None = None
    site: str | None = None
    surface: str | None = None

    @property
    def next(self) -> StepKey | None:
        """The first step that is left and that others rest on; then what may be left out; None where all is done."""
        left = [step for step in StepKey if step not in self.done]
        return next((step for step in left if step not in OPTIONAL), next(iter(left), None))

    @property
    def has_forecast(self) -> bool:
        """Whether the firm has come to its first forecast."""
        return StepKey.FORECAST in self.done


def count_words(done: Sequence[StepKey] | frozenset[StepKey]) -> str:
    """How many of the steps are done, in words."""
    return _("{done} of {total} done").format(done=len(done), total=len(StepKey))
