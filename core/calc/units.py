"""Exact unit conversions, and values shown in SI or US customary units.

Sources: the inch (25.4 mm) and the avoirdupois pound (0.453 592 37 kg) of the
international yard and pound agreement of 1959; the US liquid gallon of 231 cubic inches
(NIST Handbook 44, Appendix C). All of them are exact by definition.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from core.calc.choices import TextChoice
from core.calc.marks import marked

MM_PER_IN = 25.4
MM_PER_M = 1000.0
MM_PER_FT = 304.8
S_PER_H = 3600.0
KG_PER_LB = 0.45359237
BAR_PER_PSI = KG_PER_LB * 9.80665 / (MM_PER_IN / 1000.0) ** 2 / 1e5
M2_PER_FT2 = 0.09290304
M3_PER_FT3 = 0.028316846592
L_PER_GAL = 3.785411784

MM_H_PER_M_S = 3_600_000.0
MM_H_PER_L_S_HA = 0.36
MM_H_PER_L_MIN_M2 = 60.0


class UnitSystem(TextChoice):
    """The unit system in which a reading was taken or a value is shown. The database keeps SI."""

    SI = "si", "SI (mm/h, m², °C)"
    US = "us", "US customary (in/h, ft², °F)"


class Quantity(StrEnum):
    """What a number measures; it decides the unit beside it."""

    RATE = "rate"
    AREA = "area"
    SHORT_LENGTH = "short_length"
    LENGTH = "length"
    MASS = "mass"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    DENSITY = "density"
    PRESSURE = "pressure"
    OUTPUT = "output"
    PRICE_BY_AREA = "price_by_area"
    PRICE_BY_MASS = "price_by_mass"


@dataclass(frozen=True, slots=True)
class Measure:
    """A value with the unit it is in."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{rounded_for_reading(self.value)} {self.unit}"


@dataclass(frozen=True, slots=True)
class _Scale:
    si_unit: str
    us_unit: str
    si_per_us: float
    us_offset: float = 0.0


_SCALES = {
    Quantity.RATE: _Scale("mm/h", "in/h", MM_PER_IN),
    Quantity.AREA: _Scale("m²", "ft²", M2_PER_FT2),
    Quantity.SHORT_LENGTH: _Scale("mm", "in", MM_PER_IN),
    Quantity.LENGTH: _Scale("m", "ft", MM_PER_FT / MM_PER_M),
    Quantity.MASS: _Scale("kg", "lb", KG_PER_LB),
    Quantity.VOLUME: _Scale("m³", "ft³", M3_PER_FT3),
    Quantity.TEMPERATURE: _Scale("°C", "°F", 5.0 / 9.0, 32.0),
    Quantity.DENSITY: _Scale("kg/m³", "lb/ft³", KG_PER_LB / M3_PER_FT3),
    Quantity.PRESSURE: _Scale("bar", "psi", BAR_PER_PSI),
    Quantity.OUTPUT: _Scale("m²/h", "ft²/h", M2_PER_FT2),
    Quantity.PRICE_BY_AREA: _Scale("/m²", "/ft²", 1.0 / M2_PER_FT2),
    Quantity.PRICE_BY_MASS: _Scale("/kg", "/lb", 1.0 / KG_PER_LB),
}

# Decimals of a price by area or mass, stored and shown: what is typed by the ft² or lb with as many comes back as
# typed, since a ft² is less than a m². Common practice, no source: cents or fractions of a cent.
PRICE_DECIMALS = 4
MEASURED_BY = {Quantity.PRICE_BY_AREA: Quantity.AREA, Quantity.PRICE_BY_MASS: Quantity.MASS}
_PRICE_STEP, _CENT = Decimal(1).scaleb(-PRICE_DECIMALS), Decimal("0.01")


def to_display(value_si: float, quantity: Quantity, system: UnitSystem) -> Measure:
    """A stored SI value in the units a person prefers.

    value_si: mm/h, m², mm, m, kg, m³, °C, kg/m³, bar, m²/h, or money for each m² or kg, by quantity.
    """
    scale = _SCALES[quantity]
    if system is UnitSystem.SI:
        return Measure(value_si, scale.si_unit)
    return Measure(value_si / scale.si_per_us + scale.us_offset, scale.us_unit)


def from_display(value: float, quantity: Quantity, system: UnitSystem) -> float:
    """The SI value of a number entered in the units a person prefers."""
    if system is UnitSystem.SI:
        return value
    scale = _SCALES[quantity]
    return (value - scale.us_offset) * scale.si_per_us


def price_to_display(price_si: Decimal | float, quantity: Quantity, system: UnitSystem) -> Decimal:
    """A price for each m² or kg as one for each unit that a person prefers, with the decimals it needs: 2 to 4."""
    shown = to_display(float(price_si), quantity, system).value
    return shortened(Decimal(repr(shown)).quantize(_PRICE_STEP, ROUND_HALF_UP))


def price_from_display(price: Decimal, quantity: Quantity, system: UnitSystem) -> Decimal:
    """The price for each m² or kg of one entered in the units a person prefers, to the decimals that are stored."""
    stored = from_display(float(price), quantity, system)
    return Decimal(repr(stored)).quantize(_PRICE_STEP, ROUND_HALF_UP)


def shortened(price: Decimal) -> Decimal:
    """A price without the decimals that only its column has; two stay."""
    in_cents = price.quantize(_CENT, ROUND_HALF_UP)
    return in_cents if in_cents == price else Decimal(f"{price:f}".rstrip("0"))


def unit_of(quantity: Quantity, system: UnitSystem) -> str:
    """The unit printed beside a quantity."""
    scale = _SCALES[quantity]
    return scale.si_unit if system is UnitSystem.SI else scale.us_unit


def rounded_for_reading(value: float, digits: int = 3) -> str:
    """A number to a few significant digits, never in powers of ten.

    Thousands are parted by a narrow no-break space, as the SI Brochure (BIPM, 2019), 5.4.4 asks.
    """
    if value == 0:
        return "0"
    shown = float(f"{value:.{digits}g}")
    if abs(shown) >= 10_000:
        return f"{shown:,.0f}".replace(",", "\u202f")
    return marked(f"{shown:.10f}".rstrip("0").rstrip("."))


def in_h_to_mm_h(rate_in_h: float) -> float:
    """Rate in mm/h of a rate in in/h."""
    return rate_in_h * MM_PER_IN


def m_s_to_mm_h(rate_m_s: float) -> float:
    """Rate in mm/h of a rate in m/s."""
    return rate_m_s * MM_H_PER_M_S


def m_d_to_mm_h(rate_m_d: float) -> float:
    """Rate in mm/h of a rate in metres a day."""
    return rate_m_d * MM_PER_M / 24.0


def l_s_ha_to_mm_h(rate_l_s_ha: float) -> float:
    """Rate in mm/h of a rain or soak rate in litres a second and hectare."""
    return rate_l_s_ha * MM_H_PER_L_S_HA


def l_min_m2_to_mm_h(rate_l_min_m2: float) -> float:
    """Rate in mm/h of a rate in litres a minute and square metre."""
    return rate_l_min_m2 * MM_H_PER_L_MIN_M2


def gal_min_ft2_to_l_min_m2(rate_gal_min_ft2: float) -> float:
    """Rate in L/(min·m²) of a rate in US gallons a minute and square foot."""
    return rate_gal_min_ft2 * L_PER_GAL / M2_PER_FT2
