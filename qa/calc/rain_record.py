"""A rain gauge's record, from a plain table: what fell from when to when, and of which time nothing is known."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import isfinite
from typing import NamedTuple
from zoneinfo import ZoneInfo

from core.calc.choices import NumberChoice, TextChoice
from core.calc.format import fixed
from core.calc.translation import gettext as _
from core.calc.translation import ngettext
from core.calc.units import MM_PER_IN
from core.errors import ImpossibleRecordError
from qa.calc.numbers import short

MOST_ROWS = 1_200_000  # eleven years in steps of five minutes
# In one row. The most ever measured in a day is 1,825 mm (World Meteorological Organization; from memory).
MOST_MM = 1_900.0
TOLD_AT_ONCE = 5  # wrong lines that are named; the rest are counted
IN_MM, IN_INCHES = "rain_mm", "rain_in"


class Step(NumberChoice):
    """How long a row of the table stands for, in minutes."""

    FIVE_MIN = 5, "5 minutes"
    TEN_MIN = 10, "10 minutes"
    QUARTER = 15, "15 minutes"
    HALF = 30, "30 minutes"
    HOUR = 60, "1 hour"
    DAY = 1440, "1 day"


class Stamp(TextChoice):
    """What the time of a row names."""

    BEGIN = "begin", "The beginning of its step"
    END = "end", "The end of its step"


class Span(NamedTuple):
    """From when to when, in UTC."""

    begins: datetime
    ends: datetime


class Fall(NamedTuple):
    """Rain that fell at some time within a span. depth_mm: more than 0."""

    span: Span
    depth_mm: float


@dataclass(frozen=True, slots=True)
class RainTable:
    """What a table holds: rain, and the spans that it covers, dry ones among them, in order and apart."""

    falls: Sequence[Fall]
    covered: Sequence[Span]

    @property
    def whole(self) -> Span:
        """From the first covered instant to the last."""
        return Span(self.covered[0].begins, self.covered[-1].ends)


@dataclass(frozen=True, slots=True)
class Reading:
    """How to read a table. zone: of times without an offset; dry_left_out: steps between rows were dry, not missed."""

    step: Step
    stamp: Stamp
    zone: str
    dry_left_out: bool = False


class _Row(NamedTuple):
    line: int
    span: Span
    depth_mm: float | None


def read_table(lines: Iterable[str], reading: Reading) -> RainTable:
    """A table of `time` and `rain_mm` or `rain_in`, in the order of time, apart by commas, semicolons or tabs.

    Raises ImpossibleRecordError with the lines that cannot be read, what stands there and what to do.
    """
    rows: list[_Row] = []
    wrong: list[str] = []
    for line, found in _rows(lines, reading):
        if isinstance(found, str):
            wrong.append(_line(line, found))
        elif rows and found.span.begins < rows[-1].span.ends:
            wrong.append(_line(line, _overlap(rows[-1], found, reading.step)))
        else:
            rows.append(found)
        if len(rows) + len(wrong) > MOST_ROWS:
            most = fixed(MOST_ROWS, 0, parted=True)
            raise ImpossibleRecordError(
                _("More than {most} rows. Send the record in parts.").format(most=most)
            )
    if wrong:
        raise ImpossibleRecordError(_all_wrong(wrong))
    if not any(row.depth_mm is not None for row in rows):
        raise ImpossibleRecordError(_("No row has a depth of rain. Nothing was stored."))
    return _table(rows, dry_left_out=reading.dry_left_out)


def _line(number: int, problem: str) -> str:
    # Translators: {problem} begins with a small letter, as "its time is not after that of line 3."
    return _("Line {line}: {problem}").format(line=number, problem=problem)


def _all_wrong(wrong: Sequence[str]) -> str:
    """The first lines that cannot be read, and how many more there are."""
    more, told = len(wrong) - TOLD_AT_ONCE, list(wrong[:TOLD_AT_ONCE])
    if more > 0:
        told.append(ngettext("And {count} more.", "And {count} more.", more).format(count=more))
    return " ".join(told)


def _rows(lines: Iterable[str], reading: Reading) -> Iterator[tuple[int, _Row | str]]:
    source = iter(lines)
    head = next(source, "").lstrip("\ufeff")
    sign = max(",;\t", key=head.count)
    names = [name.strip().strip('"').lower() for name in head.split(sign)]
    depth = next((name for name in (IN_MM, IN_INCHES) if name in names), None)
    if "time" not in names or depth is None:
        raise ImpossibleRecordError(
            _("The first line must name the columns time and {column} (or {other}); it says: {head}.").format(
                column=IN_MM, other=IN_INCHES, head=repr(head.strip()[:80])
            )
        )
    at, of = names.index("time"), names.index(depth)
    clock = _Clock(reading)
    for line, cells in enumerate(_cells(csv.reader(source, delimiter=sign, strict=True)), 2):
        if any(cell.strip() for cell in cells):
            yield line, _row(line, cells, (at, of), clock, MM_PER_IN if depth == IN_INCHES else 1.0)


def _cells(reader: Iterator[list[str]]) -> Iterator[list[str]]:
    line = 2
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise ImpossibleRecordError(
                _(
                    "Line {line} cannot be taken apart into columns ({error}). "
                    "Look for a quotation mark without its pair."
                ).format(line=line, error=error)
            ) from error
        yield cells
        line += 1


def _overlap(before: _Row, row: _Row, step: Step) -> str:
    apart_min = (row.span.begins - before.span.begins).total_seconds() / 60
    if apart_min <= 0:
        return _("its time is not after that of line {line}. Sort the rows by time.").format(line=before.line)
    said = _(
        "it comes {apart} min after line {line}, but a row was said to stand for {step}. "
        "Choose what a row of this table stands for."
    )
    return said.format(apart=short(apart_min), line=before.line, step=step.label)


def _row(
    line: int, cells: Sequence[str], places: tuple[int, int], clock: "_Clock", mm: float
) -> "_Row | str":
    at, of = places
    if len(cells) <= max(places):
        return _("it has {count} columns, the first line has more.").format(count=len(cells))
    try:
        span = clock.span(cells[at].strip())
    except (ValueError, OverflowError):
        said = _("{text} is not a time. Write it as 2026-05-31 or 2026-05-31T14:00.")
        return said.format(text=repr(cells[at].strip()[:40]))
    text = cells[of].strip().replace(",", ".")
    if not text:
        return _Row(line, span, None)
    try:
        depth_mm = mm * float(text)
    except ValueError:
        said = _("{text} is not a depth of rain. Leave it empty where nothing was measured.")
        return said.format(text=repr(text[:40]))
    if not isfinite(depth_mm) or not 0 <= depth_mm <= MOST_MM:
        said = _("a depth of {depth} cannot be. Give 0 to {most}, or leave it empty.")
        return said.format(depth=text[:40], most=fixed(MOST_MM / mm, 0))
    return _Row(line, span, depth_mm)


class _Clock:
    """Times as written, in the order they are written, to spans."""

    def __init__(self, reading: Reading) -> None:
        self.step = timedelta(minutes=reading.step)
        self.zone = ZoneInfo(reading.zone)
        self.is_end = reading.stamp is Stamp.END
        self.daily = reading.step is Step.DAY
        self.last: datetime | None = None

    def span(self, text: str) -> Span:
        """Raises ValueError for what is not a time. A day is the calendar day of the place, 23 to 25 hours long."""
        stamp = datetime.fromisoformat(text)
        if self.daily and stamp.tzinfo is None:
            first = stamp - self.step if self.is_end else stamp
            return Span(self._utc(first), self._utc(first + self.step))
        at = self._in_order(stamp)
        return Span(at - self.step, at) if self.is_end else Span(at, at + self.step)

    def _in_order(self, stamp: datetime) -> datetime:
        """The hour that clocks repeat in autumn is the first one, unless that came already."""
        at = self._utc(stamp)
        if self.last is not None and at <= self.last and stamp.tzinfo is None:
            at = self._utc(stamp.replace(fold=1))
        self.last = at
        return at

    def _utc(self, stamp: datetime) -> datetime:
        return (stamp if stamp.tzinfo else stamp.replace(tzinfo=self.zone)).astimezone(UTC)


def _table(rows: Sequence[_Row], *, dry_left_out: bool) -> RainTable:
    measured = [row for row in rows if row.depth_mm is not None]
    falls = [Fall(row.span, row.depth_mm) for row in measured if row.depth_mm]
    if not dry_left_out:
        return RainTable(falls, joined([row.span for row in measured]))
    missed = [row.span for row in rows if row.depth_mm is None]
    whole = Span(rows[0].span.begins, rows[-1].span.ends)
    return RainTable(falls, without([whole], missed))


def joined(spans: Iterable[Span]) -> list[Span]:
    """The same time in as few spans as can be, in order."""
    found: list[Span] = []
    for span in sorted(spans):
        if found and span.begins <= found[-1].ends:
            found[-1] = Span(found[-1].begins, max(found[-1].ends, span.ends))
        else:
            found.append(span)
    return found


def without(spans: Iterable[Span], taken: Iterable[Span]) -> list[Span]:
    """What is left of spans when others are taken out of them, in one sweep over both."""
    outs, left = joined(taken), list[Span]()
    at = 0
    for begins, ends in joined(spans):
        while at < len(outs) and outs[at].ends <= begins:
            at += 1
        reach = at
        while reach < len(outs) and outs[reach].begins < ends:
            if begins < outs[reach].begins:
                left.append(Span(begins, outs[reach].begins))
            begins = max(begins, outs[reach].ends)
            reach += 1
        if begins < ends:
            left.append(Span(begins, ends))
        at = max(at, reach - 1)
    return left


def covers(spans: Iterable[Span], wanted: Span) -> bool:
    """Whether all of a span is covered."""
    return not without([wanted], spans)
