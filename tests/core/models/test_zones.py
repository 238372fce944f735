"""Columns that name a country or a time zone."""

import pytest
from django.core.exceptions import ValidationError

from core.models.zones import country_known, time_zone_valid


@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin"])
def test_a_zone_of_the_database_is_taken(zone):
    assert time_zone_valid(zone) is None


@pytest.mark.parametrize("zone", ["", "Berlin", "europe/berlin", "../etc/passwd"])
def test_another_is_refused_with_what_to_give(zone):
    with pytest.raises(ValidationError, match="Europe/Berlin"):
        time_zone_valid(zone)


def test_a_country_is_taken_by_its_letters_alone():
    assert country_known("DE") is None
    for wrong in ("", "de", "Germany", "XX"):
        with pytest.raises(ValidationError, match="ISO 3166"):
            country_known(wrong)
