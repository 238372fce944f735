"""The choice of a time zone."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.countries import zone_choices


class ZoneField(forms.ChoiceField):
    """A time zone from a list by country; one that is stored stays a choice where the list has it no longer.

    begin_with: gives the country whose zones come first and the stored zone, once the row is known.
    """

    default_error_messages = {
        "invalid_choice": _lazy("'%(value)s' is not a known time zone. Give one such as Europe/Berlin.")
    }

    def begin_with(self, country: str, stored: str = "", empty: str = "") -> None:
        """Order the list. empty: what leaving it open means, where it may be."""
        groups: list[tuple[str, Any]] = list(zone_choices(country))
        listed = {zone for _, zones in groups for zone, _ in zones}
        if stored and stored not in listed:
            groups.insert(0, (_("As it is"), [(stored, stored)]))
        self.choices = [("", empty), *groups] if empty else groups

    def valid_value(self, value: Any) -> bool:
        """Whatever the time zone database knows, by older names too: a sheet or another program may send it."""
        return str(value) in available_timezones()
