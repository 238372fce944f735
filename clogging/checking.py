"""Refuses histories that cannot be, with the surface, the event and the value."""

from __future__ import annotations

from math import isfinite

from core.errors import ImpossibleRecordError

from .types import (
    CLEANING_METHODS,
    SOURCE_CHANGES,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    RoundEvent,
    SurfaceHistory,
)


def _check_known(value: str, allowed: tuple[str, ...], what: str, where: str) -> None:
    if value not in allowed:
        raise ImpossibleRecordError(f"{where}: unknown {what} {value!r}; use one of {', '.join(allowed)}.")


def _check_round(event: RoundEvent, where: str) -> None:
    _check_known(event.method, TEST_METHODS, "test method", where)
    if not event.tests:
        raise ImpossibleRecordError(f"{where}: a test round needs at least one test, got none.")
    for test in event.tests:
        if test.bound not in ("=", "<", ">"):
            raise ImpossibleRecordError(f"{where}: bound must be '=', '<' or '>', got {test.bound!r}.")
        if not (isfinite(test.rate_mm_h) and test.rate_mm_h > 0.0):
            raise ImpossibleRecordError(
                f"{where}: rate_mm_h must be a number above 0, got {test.rate_mm_h}; "
                "record a spot that took no water as '<' the lowest rate the test could have shown."
            )
        if not (isfinite(test.weight) and test.weight > 0.0):
            raise ImpossibleRecordError(f"{where}: weight must be a number above 0, got {test.weight}.")


def _check_cleaning(event: CleaningEvent, where: str) -> None:
    _check_known(event.method, CLEANING_METHODS, "cleaning method", where)
    if not 0.0 < event.share <= 1.0:
        raise ImpossibleRecordError(
            f"{where}: share of the area must be above 0 and at most 1, got {event.share}."
        )


def _check_conditions(history: SurfaceHistory, where: str) -> None:
    conditions = history.conditions
    if not (isfinite(conditions.run_on_ratio) and conditions.run_on_ratio >= 0.0):
        raise ImpossibleRecordError(
            f"{where}: run_on_ratio must be 0 or more, got {conditions.run_on_ratio}."
        )
    if conditions.traffic not in (0, 1, 2):
        raise ImpossibleRecordError(
            f"{where}: traffic must be 0 (foot), 1 (cars) or 2 (heavy vehicles), got {conditions.traffic}."
        )


def check_history(history: SurfaceHistory, at: int = 0) -> None:
    """Raise ImpossibleRecordError when the history contradicts itself. at: its place in the list, for the message."""
    where = f"Surface {at}"
    _check_known(history.surface_type, SURFACE_TYPES, "surface type", where)
    _check_conditions(history, where)
    last = 0.0
    for i, event in enumerate(history.events):
        here = f"{where}, event {i}"
        if not (isfinite(event.t_yr) and event.t_yr >= 0.0):
            raise ImpossibleRecordError(
                f"{here}: t_yr must be 0 or more years since opening, got {event.t_yr}."
            )
        if event.t_yr < last:
            raise ImpossibleRecordError(
                f"{here}: at {event.t_yr} yr it lies before the event at {last} yr; sort by date."
            )
        last = event.t_yr
        if isinstance(event, RoundEvent):
            _check_round(event, here)
        elif isinstance(event, CleaningEvent):
            _check_cleaning(event, here)
        else:
            _check_known(event.kind, SOURCE_CHANGES, "change of source", here)
