"""What is kept beside a forecast so that the nights after it redo only what the day changes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from types import MappingProxyType
from typing import ClassVar

from core.calc.paving import CleaningMethod
from core.calc.payload import Payload, Upgrade
from maintenance.calc.needs import Needs
from maintenance.calc.sediment import SedimentSigns

# Care is compared in steps of a quarter, so that a comparison older than one is of another step. What is due now is
# looked at each month, as the calendar of the coming year is. The last third of either is drawn by surface, so that
# what was made in one night is not all made anew in one night.
LONGEST_DAYS, LONGEST_DUE_DAYS = 91, 30


@dataclass(frozen=True, slots=True)
class Reckoned(Payload):
    """What the advice of a surface was reckoned from.

    basis: a digest of all it rests on but the day; on: the day at the site; hours: of the crew, by method
    last_tested_on, last_cleaned_on: of the record, None for never
    """

    SCHEMA: ClassVar[int] = 1
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType({})

    basis: str
    on: date
    needs: Needs
    signs: SedimentSigns
    hours: dict[CleaningMethod, float]
    last_tested_on: date | None
    last_cleaned_on: date | None

    def holds(self, today: date, draw: int) -> bool:
        """Whether it still answers for today: nothing came due since, and it is not too old.

        draw: a number of the surface's own, by which its last third of the time is cut.
        """
        due = [on for on in (self.needs.test_on, self.needs.cleaning and self.needs.cleaning.on) if on]
        if today < self.on or any(self.on < on <= today for on in due):
            return False
        longest = LONGEST_DUE_DAYS if any(on <= today for on in due) else LONGEST_DAYS
        return today - self.on <= timedelta(days=longest - draw % (longest // 3))

    def needs_on(self, today: date) -> Needs:
        """The needs as they stand on a later day: what was due then is due now."""
        needs, cleaning = self.needs, self.needs.cleaning
        return replace(
            needs,
            test_on=needs.test_on and max(needs.test_on, today),
            cleaning=cleaning and replace(cleaning, on=max(cleaning.on, today)),
        )
