"""How long a surface is closed after a way of cleaning, and when it is open again."""

from datetime import date, timedelta
from math import ceil
from typing import NamedTuple

from core.calc.paving import Traffic
from maintenance.calc.costs import Terms

WORK_ENDS_H = 18.0  # the hour by which work of a day on record is taken to have ended; our judgement


class Cure(NamedTuple):
    """Minutes after the end of the work until people, and vehicles where any go over it, may go on a surface."""

    foot_min: int = 0
    vehicles_min: int = 0


def cure_of(terms: Terms | None, traffic: Traffic) -> Cure:
    """How long a surface is closed. terms: of the method at this firm, None where nothing sets."""
    if terms is None:
        return Cure()
    foot = ceil(60 * terms.foot_after_h)
    vehicles = ceil(60 * terms.vehicles_after_h) if traffic is not Traffic.FOOT else 0
    return Cure(foot, vehicles and max(foot, vehicles))


def open_from(cleaned_on: date, foot_min: int) -> date:
    """The first day on which people may work on a surface from the morning on; the next where nothing sets."""
    return cleaned_on + timedelta(days=max(1, ceil((WORK_ENDS_H + foot_min / 60) / 24)))
