"""Units as people write them in a sheet, and how one is brought into another.

Sources: the inch and the pound of the international agreement of 1959 (25.4 mm, 0.453 592 37 kg), the US gallon of 231
cubic inches (NIST Handbook 44, Appendix C); hectare and litre as the SI Brochure (BIPM, 2019) has them in table 8. The
acre is 43 560 square feet. All are exact by definition.
"""

import re
from dataclasses import dataclass
from types import MappingProxyType

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import BAR_PER_PSI, KG_PER_LB, L_PER_GAL, M2_PER_FT2, M3_PER_FT3, MM_PER_FT, MM_PER_IN

_SQUARES = str.maketrans({"²": "2", "³": "3", "·": " ", "^": "", ".": ""})


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit. A value of it times `factor`, plus `offset`, is in the first unit of its dimension.

    ucum: its case-sensitive code in the Unified Code for Units of Measure.
    """

    name: str
    dimension: str
    factor: float
    ucum: str
    offset: float = 0.0

    @property
    def said(self) -> str:
        """Its name in the reader's language; a sign is the same in all."""
        return _(self.name)


_UNITS = (
    (Unit("mm", "length", 1.0, "mm"), "millimetre millimetres millimeter millimeters millimètre millimètres"),
    (
        Unit("cm", "length", 10.0, "cm"),
        "centimetre centimetres centimeter centimeters centimètre centimètres",
    ),
    (Unit("m", "length", 1000.0, "m"), "metre metres meter meters mètre mètres"),
    (Unit("in", "length", MM_PER_IN, "[in_i]"), 'inch inches " ″ pouce pouces'),
    (Unit("ft", "length", MM_PER_FT, "[ft_i]"), "foot feet ' ′ pied pieds"),
    (
        Unit("m²", "area", 1.0, "m2"),
        "m2 sqm|sq m|square metres|square meters|qm|mètres carrés|mètre carré",
    ),
    (
        Unit("ft²", "area", M2_PER_FT2, "[sft_i]"),
        "ft2 sqft sf|sq ft|square feet|square foot|pieds carrés|pied carré",
    ),
    (Unit("yd²", "area", 9 * M2_PER_FT2, "[syd_i]"), "yd2 sqyd|sq yd|square yards"),
    (Unit("ha", "area", 1e4, "har"), "hectare hectares"),
    (Unit("acre", "area", 43_560 * M2_PER_FT2, "[acr_us]"), "acres ac"),
    (Unit("mm/h", "rate", 1.0, "mm/h"), "mm/hr|mm per hour|mm/hour|mmh|mm par heure|mm/heure"),
    (
        Unit("in/h", "rate", MM_PER_IN, "[in_i]/h"),
        "in/hr iph|inches per hour|in/hour|inches/hour|pouces par heure",
    ),
    (Unit("cm/h", "rate", 10.0, "cm/h"), "cm/hr|cm/hour|cm par heure|cm/heure"),
    (Unit("m/s", "rate", 3.6e6, "m/s"), ""),
    (Unit("kg", "mass", 1.0, "kg"), "kilogram kilograms kgs kilogramme kilogrammes kilo kilos"),
    (Unit("g", "mass", 0.001, "g"), "gram grams gramme grammes"),
    (Unit("t", "mass", 1000.0, "t"), "tonne tonnes"),
    (Unit("lb", "mass", KG_PER_LB, "[lb_av]"), "lbs pound pounds livre livres"),
    (Unit("L", "volume", 1.0, "L"), "l litre litres liter liters"),
    (
        Unit("m³", "volume", 1000.0, "m3"),
        "m3 cbm|cubic metres|cubic meters|mètres cubes|mètre cube|metres cubes",
    ),
    (Unit("gal", "volume", L_PER_GAL, "[gal_us]"), "gallon gallons|us gal"),
    (Unit("ft³", "volume", 1000 * M3_PER_FT3, "[cft_i]"), "ft3 cf|cu ft|cubic feet|pieds cubes|pied cube"),
    (Unit("s", "time", 1.0, "s"), "sec secs second seconds seconde secondes"),
    (Unit("min", "time", 60.0, "min"), "mins minute minutes"),
    (Unit("h", "time", 3600.0, "h"), "hr hrs hour hours heure heures"),
    (Unit("°C", "temperature", 1.0, "Cel"), "c celsius|deg c|degc|degrés celsius|degrés c"),
    (Unit("°F", "temperature", 5.0 / 9.0, "[degF]", -160.0 / 9.0), "f fahrenheit|deg f|degf"),
    (Unit("bar", "pressure", 1.0, "bar"), ""),
    (Unit("psi", "pressure", BAR_PER_PSI, "[psi]"), ""),
    (Unit("kPa", "pressure", 0.01, "kPa"), "kpa"),
    (Unit("MPa", "pressure", 10.0, "MPa"), "mpa"),
    (Unit("share", "share", 1.0, "1"), ""),
    (Unit("%", "share", 0.01, "%"), "percent|per cent|pct|pour cent|pourcent"),
    (Unit("°", "angle", 1.0, "deg"), "deg degrees degrés|degrees north|degrees east|degrés nord|degrés est"),
    (Unit(gettext_noop("months"), "months", 1.0, "mo"), "month mois"),
    (Unit(gettext_noop("days"), "days", 1.0, "d"), "day d jour jours j"),
)


def _words(unit: Unit, others: str) -> list[str]:
    """Every way of writing it: single words parted by blanks before the first stroke, phrases by strokes."""
    first, *phrases = others.split("|")
    return [unit.name, *first.split(), *phrases]


def _plain(text: str) -> str:
    return " ".join(text.translate(_SQUARES).casefold().split())


UNITS = MappingProxyType({unit.name: unit for unit, _ in _UNITS})
_BY_WORD = {_plain(word): unit for unit, others in _UNITS for word in _words(unit, others) if word}


def unit_named(text: str) -> Unit | None:
    """The unit that somebody wrote, whatever the case, points and raised figures; None for anything else."""
    return _BY_WORD.get(_plain(text))


def converted(value: float, given: Unit, wanted: Unit) -> float:
    """A value in another unit of the same dimension. Raises ValueError where the dimensions differ."""
    if given.dimension != wanted.dimension:
        raise ValueError(f"{given.name} cannot be brought into {wanted.name}.")
    if given == wanted:
        return value
    return (value * given.factor + given.offset - wanted.offset) / wanted.factor


_IN_BRACKETS = re.compile(r"^(.*?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*$")
_LAST_WORDS = re.compile(r"^(.*?)[\s,:_/-]+(?:(?:in|en)\s+)?(\S+(?:\s\S+)?)$")


def split_unit(header: str) -> tuple[str, Unit | None]:
    """The name and the unit of a column's header: “Area (m2)”, “rate [in/h]”, “area, sq ft”, “thickness_mm”."""
    text = header.strip()
    for pattern in (_IN_BRACKETS, _LAST_WORDS):
        match = pattern.match(text)
        if match and match[1] and (unit := unit_named(match[2])):
            return match[1], unit
    words = re.split(r"[\s_]+", text)
    for count in (2, 1):  # rate_mm_h and area m2
        unit = unit_named("/".join(words[-count:])) if len(words) > count else None
        if unit and (count == 2 or len(unit.name) > 1):
            return " ".join(words[:-count]), unit
    return text, None
