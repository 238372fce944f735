"""Columns that name a country or a time zone."""

from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from core.calc.countries import country_of


def time_zone_valid(value: str) -> None:
    """Refuse a name that is not in the time zone database."""
    if value not in available_timezones():
        raise ValidationError(
            _("'{value}' is not a known time zone. Give one such as Europe/Berlin.").format(value=value)
        )


def country_known(value: str) -> None:
    """Refuse what is not the two letters of a country."""
    if country_of(value) is None:
        raise ValidationError(
            _("'{value}' is not a known country. Give its two letters by ISO 3166, such as DE.").format(
                value=value
            )
        )
