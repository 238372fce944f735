"""The arithmetic behind a piece of advice, by hand: what a person can follow with pencil and paper.

The advice itself is worked out with everything that is uncertain (`maintenance.calc.deciding`); these are its middle
figures, so that it can be seen where it comes from. ln is the natural logarithm: rates fall and rise by shares.
"""

from dataclasses import dataclass
from math import log


@dataclass(frozen=True, slots=True)
class Sight:
    """One surface and one way of cleaning. loss_yr: share of the rate lost in a year; worth_m2_yr: of a year within.

    before, after: rates on the day methods are compared for; new: as it opened, by the model
    """

    new_mm_h: float
    now_mm_h: float
    limit_mm_h: float
    area_m2: float
    worth_m2_yr: float
    loss_yr: float
    chance_below: float
    price: float
    after_mm_h: float

    @property
    def year_below(self) -> float:
        """What a whole year below the limit counts as."""
        return self.worth_m2_yr * self.area_m2

    @property
    def quarter_at_risk(self) -> float:
        """What the coming quarter below counts as, by today's chance."""
        return self.chance_below * self.year_below / 4.0

    @property
    def headroom(self) -> float:
        """ln of as new over the limit: how far it may fall."""
        return log(self.new_mm_h / self.limit_mm_h)

    @property
    def decline_yr(self) -> float:
        """ln units a year."""
        return -log(1.0 - self.loss_yr) if 0.0 <= self.loss_yr < 1.0 else 0.0

    @property
    def share_restored(self) -> float | None:
        """Of what was lost since it was new; None where nothing is lost, or the method gives nothing."""
        lost = log(self.new_mm_h / self.now_mm_h)
        gained = log(self.after_mm_h / self.now_mm_h)
        return min(1.0, gained / lost) if lost > 0.0 and gained > 0.0 else None

    @property
    def holding_a_year(self) -> float | None:
        """Price times decline over share restored and headroom: what keeping it within costs a year, about.

        None where it was never above its limit, or the method gives nothing.
        """
        share = self.share_restored
        if share is None or self.headroom <= 0.0:
            return None
        return self.price * self.decline_yr / (share * self.headroom)
