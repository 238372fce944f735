"""What a cleaning costs, and what a year within the limit costs with it."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from core.calc.paving import CleaningMethod
from core.calc.translation import gettext_noop

CENT = Decimal("0.01")
SHORTEST_YR = (
    1.0 / 365.25
)  # what lasts no day has no price a year; divided by hardly anything it would be astronomic


@dataclass(frozen=True, slots=True)
class Terms:
    """A firm's price for a method. Money in the firm's currency.

    foot_after_h, vehicles_after_h: hours from the end of the work until people and vehicles may go on the surface
    """

    cost_per_m2: Decimal
    minimum_charge: Decimal
    output_m2_h: float
    foot_after_h: float = 0.0
    vehicles_after_h: float = 0.0


@dataclass(frozen=True, slots=True)
class DefaultTerms:
    """Starting prices that a firm replaces by its own; `source` says where they come from."""

    cost_per_m2: str
    minimum_charge: str
    output_m2_h: float
    source: str
    foot_after_h: float = 0.0
    vehicles_after_h: float = 0.0
    cure_source: str = gettext_noop("Open at once: nothing sets. Common practice, no source")


_RESIN_CURE = gettext_noop(
    "Trade guidance on resin joint mortar, from memory: 24 h dry and to feet, about 7 days to vehicles"
)
_LAYER_CURE = gettext_noop(
    "Asphalt 24 to 48 h, guide of the trade, from memory; concrete 7 days, which a firm then has to enter"
)
_DUTCH = gettext_noop(
    "Dutch sewer and stormwater foundation, EUR, price year not stated; outputs: our judgement"
)
_OWN = gettext_noop("our judgement, no source")

DEFAULT_TERMS: dict[CleaningMethod, DefaultTerms] = {
    CleaningMethod.BROOM: DefaultTerms("0.20", "80.00", 1500, _OWN),
    CleaningMethod.REGEN_AIR: DefaultTerms("0.35", "180.00", 2500, _OWN),
    CleaningMethod.VACUUM: DefaultTerms("0.45", "220.00", 2000, _DUTCH),
    CleaningMethod.WASH_VACUUM: DefaultTerms("1.90", "350.00", 400, _DUTCH),
    CleaningMethod.JOINT_REFILL: DefaultTerms("4.50", "450.00", 120, _OWN),
    CleaningMethod.REJOINT_RESIN: DefaultTerms("28.00", "900.00", 20, _OWN, 24.0, 168.0, _RESIN_CURE),
    CleaningMethod.MILL: DefaultTerms("22.00", "2500.00", 60, _OWN, 48.0, 48.0, _LAYER_CURE),
    CleaningMethod.RELAY: DefaultTerms("55.00", "1200.00", 8, _OWN),
}


TEST_ROUND = (
    Decimal("120.00"),
    Decimal("0.03"),
)  # a round and a square metre, until a firm says; our judgement


def round_cost(visit_price: Decimal | None, area_m2: float) -> Decimal:
    """Price of one test round: what the firm charges for a visit, else a starting value of ours."""
    if visit_price is not None:
        return visit_price
    return (TEST_ROUND[0] + TEST_ROUND[1] * Decimal(repr(area_m2))).quantize(CENT, ROUND_HALF_UP)


def cleaning_cost(terms: Terms, area_m2: float, share: float = 1.0) -> Decimal:
    """Price of one cleaning, to the cent: by area, but never under the minimum charge."""
    if not (area_m2 > 0 and 0 < share <= 1):
        raise ValueError(
            f"The area must be above 0 m² and the share above 0 up to 1, got {area_m2:g} and {share:g}."
        )
    by_area = terms.cost_per_m2 * Decimal(repr(area_m2 * share))
    return max(by_area, terms.minimum_charge).quantize(CENT, ROUND_HALF_UP)


def hours_needed(terms: Terms, area_m2: float, share: float = 1.0) -> float:
    """Crew hours for one cleaning."""
    return area_m2 * share / terms.output_m2_h


def cost_per_year(cost: Decimal, years_until_limit: float | None, horizon_yr: float) -> Decimal | None:
    """Cost of a year within the limit; None where the cleaning does not bring the surface above it for a day.

    years_until_limit: until the chance of being below reaches one half; None beyond the horizon,
    which then counts as the horizon.
    """
    years = horizon_yr if years_until_limit is None else years_until_limit
    if years < SHORTEST_YR:
        return None
    return (cost / Decimal(repr(years))).quantize(CENT, ROUND_HALF_UP)
