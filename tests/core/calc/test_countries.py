"""What a firm starts from by its country."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from core.calc.countries import (
    FALLBACK_ZONE,
    USUAL_ZONES,
    countries,
    country_choices,
    country_of,
    zone_choices,
)
from core.calc.currency import CURRENCIES
from core.calc.units import UnitSystem


def test_every_country_has_letters_a_name_and_zones_that_exist():
    assert len(countries()) > 200
    for code, country in countries().items():
        assert len(code) == 2
        assert country.name
        assert country.code == code
        assert all(ZoneInfo(zone).key == zone for zone in country.zones)
        assert country.zone in (*country.zones, FALLBACK_ZONE)


def clocks(zone):
    """How far a zone's clocks are from UTC, in the middle of each month of a year."""
    days = [datetime(2026, month, 15, tzinfo=ZoneInfo(zone)) for month in range(1, 13)]
    return tuple(day.utcoffset() for day in days)


def test_where_the_clocks_of_a_country_differ_its_usual_zone_is_named_by_hand():
    differing = {
        code for code, country in countries().items() if len({clocks(zone) for zone in country.zones}) > 1
    }

    assert differing == set(USUAL_ZONES)


def test_what_is_named_by_hand_is_a_zone_of_the_country_and_stands_first():
    for code, zone in USUAL_ZONES.items():
        country = country_of(code)
        assert country.zone == country.zones[0] == zone
        assert len(set(country.zones)) == len(country.zones) > 1


def test_every_currency_is_one_that_is_kept():
    assert {one.currency for one in countries().values()} - {""} <= CURRENCIES


@pytest.mark.parametrize(
    ("code", "currency", "units", "zone", "frost"),
    [
        ("DE", "EUR", UnitSystem.SI, "Europe/Berlin", (1, 2, 3, 11, 12)),
        ("CH", "CHF", UnitSystem.SI, "Europe/Zurich", (1, 2, 3, 11, 12)),
        ("GB", "GBP", UnitSystem.SI, "Europe/London", (1, 2, 12)),
        ("US", "USD", UnitSystem.US, "America/New_York", (1, 2, 3, 11, 12)),
        ("CA", "CAD", UnitSystem.SI, "America/Toronto", (1, 2, 3, 11, 12)),
        ("BR", "BRL", UnitSystem.SI, "America/Sao_Paulo", ()),
        ("AU", "AUD", UnitSystem.SI, "Australia/Sydney", ()),
        ("RU", "", UnitSystem.SI, "Europe/Moscow", (1, 2, 3, 11, 12)),
        ("UA", "UAH", UnitSystem.SI, "Europe/Kyiv", (1, 2, 3, 11, 12)),
        ("AQ", "", UnitSystem.SI, "Antarctica/McMurdo", ()),
    ],
)
def test_what_follows_from_a_country(code, currency, units, zone, frost):
    country = country_of(code)

    assert (country.currency, country.units, country.zone) == (currency, units, zone)
    assert tuple(country.frost_months) == frost
    assert tuple(country.leaf_fall_months) == ((10, 11) if frost else ())


@pytest.mark.parametrize("code", ["", "XX", "de", "Germany"])
def test_what_is_no_country_gives_none(code):
    assert country_of(code) is None


def test_they_are_offered_by_name():
    names = [name for _, name in country_choices()]

    assert names == sorted(names, key=str.casefold)


@pytest.mark.parametrize("code", ["", "NZ"])
def test_zones_are_offered_by_country_the_own_first(code):
    groups = zone_choices(code)

    offered = [zone for _, zones in groups for zone, _ in zones]
    assert FALLBACK_ZONE in offered
    assert {"Europe/Berlin", "Pacific/Auckland", "America/Argentina/Buenos_Aires"} <= set(offered)
    assert groups[0][0] == ("New Zealand" if code else "Afghanistan")
    assert dict(next(zones for name, zones in groups if name == "Argentina"))[
        "America/Argentina/Buenos_Aires"
    ] == ("Argentina, Buenos Aires")
