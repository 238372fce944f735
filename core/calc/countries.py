"""What a firm starts from by its country: currency, units, time zones, months of frost and of falling leaves.

Names of countries and their time zones come from the time zone database (files iso3166.tab and zone.tab of the tzdata
package), which lists a country's zones by where they lie, not by how many live there. Which is the usual one where
their clocks differ is named here: common practice, no source. Currencies are those of ISO 4217, from memory: verify
against the current list. Months of frost and of falling leaves are our judgement for the lowlands where most people
live; every site can have its own.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from babel import Locale

from core.calc.folding import words_of
from core.calc.months import Months
from core.calc.translation import gettext as _
from core.calc.translation import language
from core.calc.units import UnitSystem

FALLBACK_ZONE = "UTC"

_CURRENCIES = {
    "EUR": "AD AT BE CY DE EE ES FI FR GR HR IE IT LT LU LV MC ME MT NL PT SI SK SM VA XK",
    "USD": "US PR GU VI AS MP EC SV PA TL FM MH PW",
    "GBP": "GB GG IM JE",
    "CHF": "CH LI",
    "AUD": "AU KI NR TV",
    "NZD": "NZ CK NU",
    "DKK": "DK FO GL",
    "NOK": "NO SJ",
    "XOF": "BJ BF CI GW ML NE SN TG",
    "XAF": "CM CF CG GA GQ TD",
    "XCD": "AG DM GD KN LC VC AI MS",
}
_OWN_CURRENCY = {
    "AE": "AED",
    "AR": "ARS",
    "BR": "BRL",
    "CA": "CAD",
    "CL": "CLP",
    "CN": "CNY",
    "CO": "COP",
    "CZ": "CZK",
    "HK": "HKD",
    "HU": "HUF",
    "ID": "IDR",
    "IL": "ILS",
    "IN": "INR",
    "IS": "ISK",
    "JP": "JPY",
    "KE": "KES",
    "KR": "KRW",
    "MA": "MAD",
    "MX": "MXN",
    "MY": "MYR",
    "NG": "NGN",
    "PE": "PEN",
    "PH": "PHP",
    "PL": "PLN",
    "RO": "RON",
    "RS": "RSD",
    "SA": "SAR",
    "SE": "SEK",
    "SG": "SGD",
    "TH": "THB",
    "TR": "TRY",
    "TW": "TWD",
    "UA": "UAH",
    "UY": "UYU",
    "VN": "VND",
    "ZA": "ZAR",
}
_CURRENCY_OF = _OWN_CURRENCY | {code: money for money, codes in _CURRENCIES.items() for code in codes.split()}

_LONG_FROST = Months((1, 2, 3, 11, 12))
_SHORT_FROST = Months((1, 2, 12))
_NORTHERN_LEAVES = Months((10, 11))
_COLD = "AT BA BG BY CA CH CZ DE DK EE FI HU IS KR LI LT LV MD NO PL RO RS RU SE SI SK UA US"
_MILD = "BE CN FR GB HR IE IM JE JP LU NL TR"
_FROST = dict.fromkeys(_COLD.split(), _LONG_FROST) | dict.fromkeys(_MILD.split(), _SHORT_FROST)

# Of every country whose zones differ in their clocks, the one by which most of its people live, to begin with:
# common practice, no source. A site elsewhere is given its own.
USUAL_ZONES = MappingProxyType(
    {
        "AQ": "Antarctica/McMurdo",
        "AU": "Australia/Sydney",
        "BR": "America/Sao_Paulo",
        "CA": "America/Toronto",
        "CD": "Africa/Kinshasa",
        "CL": "America/Santiago",
        "CN": "Asia/Shanghai",
        "EC": "America/Guayaquil",
        "ES": "Europe/Madrid",
        "FM": "Pacific/Chuuk",
        "GL": "America/Nuuk",
        "ID": "Asia/Jakarta",
        "KI": "Pacific/Tarawa",
        "MN": "Asia/Ulaanbaatar",
        "MX": "America/Mexico_City",
        "NZ": "Pacific/Auckland",
        "PF": "Pacific/Tahiti",
        "PG": "Pacific/Port_Moresby",
        "PT": "Europe/Lisbon",
        "RU": "Europe/Moscow",
        "UA": "Europe/Kyiv",
        "UM": "Pacific/Wake",
        "US": "America/New_York",
    }
)


@dataclass(frozen=True, slots=True)
class Country:
    """A country and what is usual there.

    currency: empty where it is not known here. zones: the usual one first, the others by where they lie.
    """

    code: str
    name: str
    currency: str
    units: UnitSystem
    zones: tuple[str, ...]
    frost_months: Months
    leaf_fall_months: Months

    @property
    def zone(self) -> str:
        """The time zone to begin with."""
        return self.zones[0] if self.zones else FALLBACK_ZONE

    @property
    def said(self) -> str:
        """The name in the reader's language: of the time zone database in English, else of the CLDR by Babel."""
        tongue = language()
        if tongue.startswith("en"):
            return self.name
        return str(Locale.parse(tongue, sep="-").territories.get(self.code, self.name))


@cache
def countries() -> dict[str, Country]:
    """Every country of the time zone database by its two letters (ISO 3166-1), in the order of their names."""
    zones: dict[str, list[str]] = {}
    for code, _place, zone, *_rest in _rows("zone.tab"):
        zones.setdefault(code, []).append(zone)
    named = sorted(((name, code) for code, name in _rows("iso3166.tab")), key=lambda one: one[0].casefold())
    return {code: _country(code, name, _usual_first(code, zones.get(code, []))) for name, code in named}


def _usual_first(code: str, zones: list[str]) -> tuple[str, ...]:
    return tuple(sorted(zones, key=lambda zone: zone != USUAL_ZONES.get(code)))


def _country(code: str, name: str, zones: tuple[str, ...]) -> Country:
    frost = _FROST.get(code, Months())
    return Country(
        code=code,
        name=name,
        currency=_CURRENCY_OF.get(code, ""),
        units=UnitSystem.US if code == "US" else UnitSystem.SI,
        zones=zones,
        frost_months=frost,
        leaf_fall_months=_NORTHERN_LEAVES if frost else Months(),
    )


def country_of(code: str) -> Country | None:
    """The country of two letters; None for others, and for a firm that has not said."""
    return countries().get(code)


def country_choices() -> list[tuple[str, str]]:
    """Letters and name of each country, by name."""
    return [(code, country.said) for code, country in _by_name().items()]


def _by_name() -> dict[str, Country]:
    """Every country in the order of the names in the reader's language, accents aside."""
    if language().startswith("en"):
        return countries()
    return dict(sorted(countries().items(), key=lambda item: words_of(item[1].said)))


def zone_choices(code: str = "") -> list[tuple[str, list[tuple[str, str]]]]:
    """Every time zone by the country that has it, that of `code` first: groups of value and label."""
    every = sorted((one for one in _by_name().values() if one.zones), key=lambda one: one.code != code)
    groups = [(one.said, [(zone, _city(zone)) for zone in one.zones]) for one in every]
    return [*groups, (_("No place"), [(FALLBACK_ZONE, "UTC")])]


def _city(zone: str) -> str:
    return zone.partition("/")[2].replace("_", " ").replace("/", ", ")


def _rows(name: str) -> list[list[str]]:
    text = (files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]
