"""Axes of a still chart: from a value to its place, and where the ticks stand."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, inf, isfinite, log10
from typing import Any, Literal

from core.calc.marks import marked
from core.calc.units import rounded_for_reading

Kind = Literal["linear", "log", "date", "category"]
ROOM = 0.05  # of the values' span, on either side
WISHED_TICKS = 5
FEW_DECADES = 1.5  # below which a decade has ticks between its ends
STEPS = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Tick:
    """A tick at a number of its scale, with what is written there."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Scale:
    """Values in a range, as places from `start` to `end` of the drawing.

    low, high: as numbers of the scale: log10 of a value, days, or the position of a name.
    """

    kind: Kind
    low: float
    high: float
    start: float
    end: float
    names: tuple[str, ...] = ()

    def number(self, value: Any) -> float | None:
        """A value as a number of the scale; None for what has no place on it."""
        return _number(value, self.kind, self.names)

    def place(self, number: float) -> float:
        """Where a number of the scale lies in the drawing."""
        return self.start + (number - self.low) / (self.high - self.low) * (self.end - self.start)

    def at(self, value: Any) -> float | None:
        """Where a value lies in the drawing."""
        number = self.number(value)
        return None if number is None else self.place(number)


def kind_of(axis: Mapping[str, Any], values: Iterable[Any]) -> Kind:
    """As the figure says, else names where any value is a text."""
    said: Kind | None = axis.get("type")
    return said or ("category" if any(isinstance(value, str) for value in values) else "linear")


def scale_of(axis: Mapping[str, Any], values: Sequence[Any], start: float, end: float) -> Scale:
    """The scale of an axis as its figure describes it, for these values."""
    kind = kind_of(axis, values)
    names = tuple(dict.fromkeys(str(value) for value in values)) if kind == "category" else ()
    low, high = _range(axis, kind, values, names)
    if axis.get("autorange") == "reversed":
        start, end = end, start
    return Scale(kind, low, high, start, end, names)


def ticks_of(scale: Scale, axis: Mapping[str, Any]) -> list[Tick]:
    """The ticks in view, from low to high."""
    ticks = [tick for tick in _ticks(scale, axis) if scale.low - 1e-9 <= tick.at <= scale.high + 1e-9]
    after = axis.get("ticksuffix", "")
    return [Tick(tick.at, tick.label + after) for tick in ticks] if after else ticks


def _number(value: Any, kind: Kind, names: Sequence[str]) -> float | None:
    if value is None:
        return None
    if kind == "date":
        return float(date.fromisoformat(str(value)[:10]).toordinal())
    if kind == "category" and isinstance(value, str):
        return float(names.index(value)) if value in names else None
    number = float(value)
    if kind == "log":
        return log10(number) if 0 < number < inf else None
    return number if isfinite(number) else None


def _range(
    axis: Mapping[str, Any], kind: Kind, values: Sequence[Any], names: Sequence[str]
) -> tuple[float, float]:
    if "range" in axis:  # of a log axis it is given as powers of ten already
        low, high = (_number(end, "linear" if kind == "log" else kind, names) for end in axis["range"])
        return _apart(low or 0.0, high or 0.0)
    if kind == "category":
        return -0.5, max(len(names), 1) - 0.5
    numbers = [n for n in (_number(value, kind, names) for value in values) if n is not None] or [0.0, 1.0]
    low, high = min(numbers), max(numbers)
    room = ROOM * (high - low)
    if axis.get("rangemode") == "tozero":
        return _apart(min(0.0, low), max(0.0, high + room))
    return _apart(low - room, high + room)


def _apart(low: float, high: float) -> tuple[float, float]:
    return (low, high) if high > low else (low - 0.5, low + 0.5)


def _ticks(scale: Scale, axis: Mapping[str, Any]) -> list[Tick]:
    if "tickvals" in axis:
        labels = axis.get("ticktext") or [rounded_for_reading(float(v)) for v in axis["tickvals"]]
        placed = [
            (scale.number(value), str(label)) for value, label in zip(axis["tickvals"], labels, strict=True)
        ]
        return [Tick(number, label) for number, label in placed if number is not None]
    if scale.kind == "category":
        return [Tick(float(i), name) for i, name in enumerate(scale.names)]
    if scale.kind == "date":
        return _years(scale)
    return _decades(scale) if scale.kind == "log" else _even(scale, axis.get("dtick"))


def _even(scale: Scale, asked: Any) -> list[Tick]:
    step = float(asked) if isinstance(asked, int | float) else _step((scale.high - scale.low) / WISHED_TICKS)
    first, last = ceil(scale.low / step - 1e-9), floor(scale.high / step + 1e-9)
    digits = max(0, -floor(log10(step)))
    return [Tick(n * step, _plain(n * step, digits, is_year=bool(asked))) for n in range(first, last + 1)]


def _plain(value: float, digits: int, *, is_year: bool) -> str:
    """A step's number with thousands parted, but not that of a year, whose step the figure names."""
    text = f"{value:.{digits}f}" if is_year else marked(f"{value:,.{digits}f}".replace(",", "\u202f"))
    return "0" if not text.strip("-0.") else text


def _step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not under `least`."""
    power = 10.0 ** floor(log10(least))
    return next(step * power for step in (*STEPS, 10.0) if step * power >= least * (1 - 1e-9))


def _decades(scale: Scale) -> list[Tick]:
    between = STEPS if scale.high - scale.low < FEW_DECADES else STEPS[:1]
    powers = range(floor(scale.low), ceil(scale.high) + 1)
    values = [step * 10.0**power for power in powers for step in between]
    return [Tick(log10(value), rounded_for_reading(value)) for value in values]


def _years(scale: Scale) -> list[Tick]:
    first, last = (date.fromordinal(max(int(n), 1)).year for n in (scale.low, scale.high))
    every = int(_step(max((last - first) / WISHED_TICKS, 1.0)))
    years = (year for year in range(first, last + 2) if year % every == 0)
    return [Tick(float(date(year, 1, 1).toordinal()), str(year)) for year in years]
