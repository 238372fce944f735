"""What the office reads of phones on its first page."""

from typing import Any

from django.urls import reverse
from django.utils.timezone import now

from core.calc.format import counted
from core.presentation.notices import Notice
from fieldwork.selectors.phones import pressing_entries

PRESSING = (
    "%s from the field did not arrive: refused for more than a day, waiting for more than a week, or no longer on the "
    "phone."
)


def pressing_notice(current: Any) -> Notice | None:
    """How many entries somebody should look at; None where there are none, or no firm is acted for."""
    if current.organisation is None:
        return None
    count = pressing_entries(current.organisation, now()).count()
    if not count:
        return None
    return Notice(
        PRESSING % counted(count, "record"), "See which", reverse("fieldwork:phone-list"), is_grave=True
    )
