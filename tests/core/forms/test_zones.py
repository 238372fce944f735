"""The choice of a time zone."""

import pytest
from django.core.exceptions import ValidationError

from core.forms.zones import ZoneField


@pytest.fixture
def field():
    return ZoneField()


def groups(field):
    return [label for _, label in field.choices if not isinstance(label, str)]


def test_the_zones_of_the_country_come_first(field):
    field.begin_with("NZ")

    name, zones = next(iter(field.choices))
    assert name == "New Zealand"
    assert zones[0] == ("Pacific/Auckland", "Auckland")


def test_one_that_is_no_longer_listed_stays_a_choice(field):
    field.begin_with("DE", "US/Eastern")

    assert next(iter(field.choices)) == ("As it is", [("US/Eastern", "US/Eastern")])
    assert field.clean("US/Eastern") == "US/Eastern"


def test_one_that_is_listed_is_not_offered_twice(field):
    field.begin_with("DE", "Europe/Berlin")

    assert sum(("Europe/Berlin", "Berlin") in zones for zones in groups(field)) == 1


def test_leaving_it_open_means_what_is_said(field):
    field.required = False
    field.begin_with("", empty="As usual in the country")

    assert next(iter(field.choices)) == ("", "As usual in the country")
    assert field.clean("") == ""


@pytest.mark.parametrize("zone", ["Mars/North", "europe/berlin", "../../etc/passwd"])
def test_another_is_refused_with_what_to_give(field, zone):
    field.begin_with("DE")

    with pytest.raises(ValidationError, match="Give one such as Europe/Berlin"):
        field.clean(zone)
