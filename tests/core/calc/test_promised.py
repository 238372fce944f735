"""Figures that the handbook says and others keep to."""

import re
from datetime import timedelta
from pathlib import Path

from core.calc import promised
from exchange.calc import reading
from fieldwork.selectors import kept_pages

QUEUE = Path(__file__).resolve().parents[3] / "static/js/logic/queue.js"


def test_phones_keep_what_is_said():
    days = int(re.search(r"SENT_KEPT_MS = (\d+) \* 24 \* 3_600_000", QUEUE.read_text(encoding="utf-8"))[1])

    assert days == promised.PHONE_SENT_DAYS
    assert timedelta(days=promised.PHONE_DAYS_AHEAD) == kept_pages.AHEAD
    assert timedelta(days=promised.PHONE_DAYS_BEHIND) == kept_pages.BEHIND


def test_sheets_are_taken_in_up_to_what_is_said():
    assert promised.SHEET_MOST_ROWS == reading.MOST_ROWS
    assert promised.SHEET_MOST_MB * 1024 * 1024 == reading.MOST_BYTES
