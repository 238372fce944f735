"""What the office reads of phones on its first page."""

from typing import Any

from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.presentation.notices import Notice
from fieldwork.selectors.phones import pressing_entries


def pressing_notice(current: Any) -> Notice | None:
    """How many entries somebody should look at; None where there are none, or no firm is acted for."""
    if current.organisation is None:
        return None
    count = pressing_entries(current.organisation, now()).count()
    if not count:
        return None
    text = ngettext(
        "{count} record from the field did not arrive: refused for more than a day, waiting for more than a week, or "
        "no longer on the phone.",
        "{count} records from the field did not arrive: refused for more than a day, waiting for more than a week, or "
        "no longer on the phone.",
        count,
    )
    return Notice(text.format(count=count), _("See which"), reverse("fieldwork:phone-list"), is_grave=True)
