"""Advice from what was reckoned of a surface: what to do, the source first where it counts, and what waiting costs."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import Advice, Option, SurfaceStatus, advise
from maintenance.calc.forecast_payload import SourceWorth
from maintenance.calc.needs import Needs
from maintenance.calc.sediment import SedimentSigns, with_source_first
from maintenance.calc.waiting import weighed


class Considered(NamedTuple):
    """What advice is given from. options: by method; worth: of stopping the source; hours: of the crew, by method."""

    status: SurfaceStatus
    needs: Needs
    options: Sequence[Option]
    signs: SedimentSigns
    worth: SourceWorth | None
    hours: Mapping[CleaningMethod, float]


def advice_from(of: Considered) -> list[Advice]:
    """What to do with one surface, most pressing first."""
    plain = advise(of.status, of.needs, of.options)
    pieces = with_source_first(plain, of.signs, of.worth, of.status.today, of.needs)
    return [weighed(piece, of.needs, of.status, of.hours) for piece in pieces]
