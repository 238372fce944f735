"""What the newest forecast expects of a surface about the day it was made."""

from datetime import date, timedelta

from maintenance.models import CleaningEvent, Forecast
from qa.calc.surprise import ExpectedRate
from qa.models import Surface

HOLDS = timedelta(days=60)  # before and after its day; our judgement


def expected_about(surface: Surface, on: date) -> ExpectedRate | None:
    """None where no forecast was made near that day, or a cleaning lies between, which lifts the rate. Two queries."""
    row = Forecast.objects.filter(surface=surface, error="").defer(*Forecast.BULKY).first()
    if row is None or row.made_on is None or abs(row.made_on - on) > HOLDS:
        return None
    rates = row.rate_now_mm_h, row.rate_low_mm_h, row.rate_high_mm_h
    known = [rate for rate in rates if rate is not None]
    between = min(row.made_on, on), max(row.made_on, on)
    cleaned = CleaningEvent.objects.active().filter(surface=surface, cleaned_on__range=between)
    if len(known) < len(rates) or cleaned.exists():
        return None
    return ExpectedRate(*known)
