"""The decline of a surface as a picture of our own: an SVG that a page shows before any script, and a paper prints.

It shows what the interactive chart shows (`maintenance.presentation.charts`): ranges and median of the model, the
limit, tests with the marks of their bounds, rounds, cleanings, and when the limit is likely to be reached.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from math import ceil, floor, log10

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, pgettext

from core.calc.bounds import Bound
from core.calc.format import counted, day, format_rate, percent
from core.calc.paving import TestMethod
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display, unit_of
from core.presentation.lettering import text_width
from core.presentation.svg import Point, element, outline, text, text_node
from maintenance.calc.decline import DeclineRecord, MeasuredRate
from maintenance.calc.forecast_payload import RateCurve
from maintenance.presentation.charts import shown_rates, shown_since, shown_until
from reporting.presentation import decline_marks as marks
from reporting.presentation.decline_marks import Ink

LEFT, TOP = 60.0, 34.0
SCREEN, PAPER = (
    (680.0, 248.0),
    (440.0, 190.0),
)  # width, and where the plot ends; on paper it stands in a column
BESIDE = 12.0
LETTERS = 11.0
LEGEND_BELOW, LEGEND_STEP = 38.0, 17.0
YEAR_APART = 44.0  # from one named year to the next, at least
FEW_DECADES = 1.6  # below this, lines between the powers of ten are numbered too


@dataclass(frozen=True, slots=True)
class _Scale:
    """From days and rates to places on the drawing. low, high: log10 of the rates at its edges, in the shown unit."""

    since: date
    until: date
    low: float
    high: float
    system: UnitSystem
    right: float
    bottom: float

    def x(self, on: date) -> float:
        return LEFT + (self.right - LEFT) * ((on - self.since) / (self.until - self.since))

    def y(self, rate_mm_h: float) -> float:
        shown = to_display(rate_mm_h, Quantity.RATE, self.system).value
        return self.y_of_log(log10(max(shown, 1e-9)))

    def y_of_log(self, power: float) -> float:
        return self.bottom - (self.bottom - TOP) * (power - self.low) / (self.high - self.low)

    def shows(self, on: date) -> bool:
        return self.since <= on <= self.until


def decline_svg(record: DeclineRecord, units: str, *, for_paper: bool) -> str:
    """Rate over time as SVG text. for_paper: narrower, and in plain colours instead of those of the page.

    Its description says the same in words, for who cannot see it.
    """
    width, bottom = PAPER if for_paper else SCREEN
    scale, ink = _scale(record, units, width - BESIDE, bottom), Ink(for_paper)
    legend, height = _legend(record, ink, scale)
    parts = (
        _grid(scale, ink),
        _clipped(scale, _curves(record, scale, ink)),
        _limit(record, scale, ink),
        _today(record, scale, ink),
        *_cleanings(record, scale, ink),
        _tests(record, scale, ink),
        _rounds(record, scale, ink),
        legend,
    )
    return element(
        "svg",
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:.0f} {height:.0f}",
        role="img",
        aria_label=decline_words(record, units),
        font_family="sans-serif",
        font_size=LETTERS,
    )


def decline_size(record: DeclineRecord, units: str, *, for_paper: bool) -> tuple[float, float]:
    """Width and height of that picture, sooner known than it is drawn."""
    width, bottom = PAPER if for_paper else SCREEN
    scale = _scale(record, units, width - BESIDE, bottom)
    return width, round(_legend(record, Ink(for_paper), scale)[1])


def _scale(record: DeclineRecord, units: str, right: float, bottom: float) -> _Scale:
    system = UnitSystem(units)
    until = shown_until(record)
    low, high = shown_rates(record, until, system)
    return _Scale(shown_since(record), until, low, high, system, right, bottom)


def _clipped(scale: _Scale, *parts: str) -> str:
    """What may reach beyond the plot, cut off at its edges."""
    wide, high = scale.right - LEFT, scale.bottom - TOP
    view = f"{LEFT:.0f} {TOP:.0f} {wide:.0f} {high:.0f}"
    return element("svg", *parts, viewBox=view, overflow="hidden", x=LEFT, y=TOP, width=wide, height=high)


# ---- Axes ----


def _grid(scale: _Scale, ink: Ink) -> str:
    label = {"fill": ink.soft}
    lines, words = [], []
    for power, named, shown in _rates_marked(scale):
        y = scale.y_of_log(power)
        lines.append(f"M{LEFT:.0f} {y:.1f}H{scale.right:.0f}")
        if named:
            words.append(text(shown, LEFT - 6, y + 4, text_anchor="end", **label))
    for year, x in _years(scale):
        lines.append(f"M{x:.1f} {TOP:.0f}V{scale.bottom:.0f}")
        if LEFT + 12 < x < scale.right - 12:
            words.append(text(str(year), x, scale.bottom + 16, text_anchor="middle", **label))
    unit = unit_of(Quantity.RATE, scale.system)
    return "".join(
        (
            element("path", d="".join(lines), fill="none", stroke=ink.grid, stroke_width=0.7),
            element(
                "path",
                d=f"M{LEFT:.0f} {TOP:.0f}V{scale.bottom:.0f}H{scale.right:.0f}",
                fill="none",
                stroke=ink.soft,
            ),
            text(
                _("Rate ({unit}, logarithmic)").format(unit=unit),
                6,
                TOP - 20,
                fill=ink.ink,
                font_weight="bold",
            ),
            *words,
        )
    )


def _rates_marked(scale: _Scale) -> Iterator[tuple[float, bool, str]]:
    """Powers of ten, and between them twice and five times that where there is room: log10, whether named, number."""
    close = scale.high - scale.low < FEW_DECADES
    for decade in range(floor(scale.low), ceil(scale.high) + 1):
        for factor in (1, 2, 5):
            power = decade + log10(factor)
            if scale.low < power < scale.high and (factor == 1 or close):
                yield power, True, rounded_for_reading(factor * 10.0**decade)


def _years(scale: _Scale) -> Iterator[tuple[int, float]]:
    years = range(scale.since.year + 1, scale.until.year + 1)
    step = ceil(len(years) * YEAR_APART / (scale.right - LEFT)) or 1
    for year in years[::step]:
        yield year, scale.x(date(year, 1, 1))


# ---- What the model says ----


def _curves(record: DeclineRecord, scale: _Scale, ink: Ink) -> str:
    past, future = record.past, record.future
    parts = []
    for curve in (past, future):
        parts.append(_band(curve, curve.lo95, curve.hi95, scale, ink.fan_wide, ink.fan_wide_opacity))
        parts.append(_band(curve, curve.lo80, curve.hi80, scale, ink.fan, ink.fan_opacity))
    parts.append(_line(past, scale, ink, dashes=None))
    parts.append(_line(future, scale, ink, dashes=marks.FORECAST_DASHES))
    return "".join(parts)


def _band(
    curve: RateCurve,
    low: Sequence[float],
    high: Sequence[float],
    scale: _Scale,
    fill: str,
    opacity: float | None,
) -> str:
    upper = [(scale.x(on), scale.y(rate)) for on, rate in zip(curve.on, high, strict=True)]
    lower = [(scale.x(on), scale.y(rate)) for on, rate in zip(curve.on, low, strict=True)]
    return element("path", d=outline([*upper, *reversed(lower)]), fill=fill, fill_opacity=_share(opacity))


def _share(opacity: float | None) -> str | None:
    return None if opacity is None else f"{opacity:g}"


def _line(curve: RateCurve, scale: _Scale, ink: Ink, *, dashes: str | None) -> str:
    points = [(scale.x(on), scale.y(rate)) for on, rate in zip(curve.on, curve.median, strict=True)]
    return element(
        "path",
        d=outline(points).removesuffix("z"),
        fill="none",
        stroke=ink.line,
        stroke_width=2.2,
        stroke_dasharray=dashes,
    )


def _limit(record: DeclineRecord, scale: _Scale, ink: Ink) -> str:
    """The limit as a line with its number; when it is likely to be reached as a bar on it."""
    y = scale.y(record.limit_mm_h)
    said = _("limit {rate}").format(rate=format_rate(record.limit_mm_h, scale.system))
    line = element(
        "path",
        d=f"M{LEFT:.0f} {y:.1f}H{scale.right:.0f}",
        fill="none",
        stroke=ink.limit,
        stroke_width=1.5,
        stroke_dasharray=marks.LIMIT_DASHES,
    )
    label = element(
        "text",
        text_node(said),
        x=LEFT + 5,
        y=y + (14 if y < scale.bottom - 18 else -5),
        fill=ink.limit,
        font_weight="bold",
        **marks.halo(ink),
    )
    return line + _reach(record, scale, ink, y) + label


def _reach(record: DeclineRecord, scale: _Scale, ink: Ink, y: float) -> str:
    reach = record.reach
    if reach.below_10_on is None or not scale.shows(reach.below_10_on):
        return ""
    ends = min(reach.below_90_on or scale.until, scale.until)
    bar = f"M{scale.x(reach.below_10_on):.1f} {y:.1f}H{scale.x(ends):.1f}"
    parts = [
        element("path", d=bar, stroke=ink.limit, stroke_width=6, stroke_opacity="0.7", fill="none"),
    ]
    if reach.below_50_on and scale.shows(reach.below_50_on):
        x = scale.x(reach.below_50_on)
        parts.append(element("path", d=f"M{x:.1f} {y - 8:.1f}V{y + 8:.1f}", stroke=ink.limit, stroke_width=3))
    return "".join(parts)


def _today(record: DeclineRecord, scale: _Scale, ink: Ink) -> str:
    """The day on which past and forecast meet, by its date, since a kept report is read on other days."""
    if not scale.shows(record.today):
        return ""
    x = scale.x(record.today)
    line = element(
        "path", d=f"M{x:.1f} {TOP - 4:.1f}V{scale.bottom:.1f}", stroke=ink.soft, stroke_width=1, fill="none"
    )
    at_end = x > scale.right - 70
    shift, anchor = (-4, "end") if at_end else (4, "start")
    said = day(record.today)
    return line + text(
        said, x + shift, scale.bottom - 6, text_anchor=anchor, fill=ink.soft, **marks.halo(ink)
    )


# ---- What was measured and done ----


def _tests(record: DeclineRecord, scale: _Scale, ink: Ink) -> str:
    shown = [test for test in record.tests if scale.shows(test.on)]
    of_ring = [test for test in shown if test.method is TestMethod.RING]
    others = [test for test in shown if test.method is not TestMethod.RING]
    by_bound = (
        marks.test_marks(_places((test for test in of_ring if test.bound is bound), scale), bound, ink)
        for bound in Bound
    )
    return "".join(by_bound) + marks.other_marks(_places(others, scale), ink)


def _places(tests: Iterable[MeasuredRate], scale: _Scale) -> list[Point]:
    return [(scale.x(test.on), scale.y(test.rate_mm_h)) for test in tests]


def _rounds(record: DeclineRecord, scale: _Scale, ink: Ink) -> str:
    shown = [one for one in record.rounds if scale.shows(one.on)]
    return marks.round_marks([(scale.x(one.on), scale.y(one.mean_mm_h)) for one in shown], ink)


def _cleanings(record: DeclineRecord, scale: _Scale, ink: Ink) -> Iterator[str]:
    for event in record.cleanings:
        if scale.shows(event.on):
            x = scale.x(event.on)
            yield element(
                "path",
                d=f"M{x:.1f} {TOP:.1f}V{scale.bottom:.1f}",
                fill="none",
                stroke=ink.cleaning,
                stroke_width=1.3,
                stroke_dasharray=marks.CLEANING_DASHES,
            ) + marks.cleaning_mark(x, TOP, ink)


# ---- Legend ----

_Entry = tuple[str, Callable[[float, float], str]]


def _legend(record: DeclineRecord, ink: Ink, scale: _Scale) -> tuple[str, float]:
    """What the marks mean, in as many rows as it takes, and where the drawing ends."""
    x, y, parts = LEFT, scale.bottom + LEGEND_BELOW, []
    for words, draw in _entries(record, ink):
        wide = 30 + text_width(words, LETTERS) + 12
        if x + wide > scale.right and x > LEFT:
            x, y = LEFT, y + LEGEND_STEP
        parts.append(draw(x + 11, y) + text(words, x + 28, y + 4, fill=ink.ink))
        x += wide
    return "".join(parts), y + 14


def _entries(record: DeclineRecord, ink: Ink) -> Iterator[_Entry]:
    """Only what is in the picture."""
    yield _("estimate"), lambda x, y: marks.stroke(x, y, ink.line, 2.2, None)
    yield _("forecast"), lambda x, y: marks.stroke(x, y, ink.line, 2.2, marks.FORECAST_DASHES)
    yield pgettext("legend", "80 % range"), lambda x, y: marks.swatch(x, y, ink.fan, ink.fan_opacity, ink)
    yield _("95 % range"), lambda x, y: marks.swatch(x, y, ink.fan_wide, ink.fan_wide_opacity, ink)
    yield _("limit"), lambda x, y: marks.stroke(x, y, ink.limit, 1.5, marks.LIMIT_DASHES)
    if record.reach.below_10_on:
        yield _("reaches it, 10 to 90 % chance"), lambda x, y: marks.stroke(x, y, ink.limit, 6, None)
    if record.rounds:
        yield _("mean of a round"), lambda x, y: marks.round_marks([(x, y)], ink)
    yield from _test_entries(record.tests, ink)
    if record.cleanings:
        yield _("cleaning"), lambda x, y: marks.cleaning_mark(x, y, ink)


def _test_entries(tests: Sequence[MeasuredRate], ink: Ink) -> Iterator[_Entry]:
    bounds = {test.bound for test in tests if test.method is TestMethod.RING}
    for bound, words in _BOUND_WORDS.items():
        if bound in bounds:
            yield _(words), partial(_one_test, bound=bound, ink=ink)
    if any(test.method is not TestMethod.RING for test in tests):
        yield _("another method"), lambda x, y: marks.other_marks([(x, y)], ink)


def _one_test(x: float, y: float, bound: Bound, ink: Ink) -> str:
    return marks.test_marks([(x, y)], bound, ink)


_BOUND_WORDS = {
    Bound.EXACT: gettext_noop("single test"),
    Bound.BELOW: gettext_noop("at most this"),
    Bound.ABOVE: gettext_noop("at least this"),
}


# ---- In words ----


def decline_words(record: DeclineRecord, units: str) -> str:
    """What the picture shows, for who cannot see it."""
    since, until = record.past.on[0], shown_until(record)
    said = [
        _("Rate over time on a logarithmic scale, {since} to {until}.").format(
            since=day(since), until=day(until)
        ),
        _("Limit {rate}.").format(rate=format_rate(record.limit_mm_h, units)),
        _curve_words(record.past, _("Estimate"), record.past.on[-1], units),
        _curve_words(record.future, _("Forecast"), until, units),
        _measured_words(record, units),
        _reach_words(record),
    ]
    return " ".join(filter(None, said))


def _curve_words(curve: RateCurve, name: str, on: date, units: str) -> str:
    """Where a curve begins and where it is on a day, with its 80 % range there."""
    at = max(i for i, each in enumerate(curve.on) if each <= on or i == 0)
    begins, ends, low, high = (
        format_rate(value, units)
        for value in (curve.median[0], curve.median[at], curve.lo80[at], curve.hi80[at])
    )
    return _("{curve}: {begins} on {first}, {ends} on {last} (80 % range {low} to {high}).").format(
        curve=name,
        begins=begins,
        first=day(curve.on[0]),
        ends=ends,
        last=day(curve.on[at]),
        low=low,
        high=high,
    )


def _measured_words(record: DeclineRecord, units: str) -> str:
    rounds = sorted(record.rounds, key=lambda one: one.on)
    tests, cleanings = counted(len(record.tests), "test"), counted(len(record.cleanings), "cleaning")
    if not rounds:
        return _("{tests}, {cleanings}.").format(tests=tests, cleanings=cleanings)
    last = rounds[-1]
    return _("{tests} in {rounds}, the last with a mean of {rate} on {day}; {cleanings}.").format(
        tests=tests,
        rounds=counted(len(rounds), "ring round"),
        rate=format_rate(last.mean_mm_h, units),
        day=day(last.on),
        cleanings=cleanings,
    )


def _reach_words(record: DeclineRecord) -> str:
    reach = record.reach
    if reach.below_10_on is None:
        return _("The limit is not expected to be reached within the forecast.")
    chances = ((10, reach.below_10_on), (50, reach.below_50_on), (90, reach.below_90_on))
    said = _("{chance} by {day}")
    listed = [said.format(chance=percent(chance / 100), day=day(on)) for chance, on in chances if on]
    return _("Chance of being below the limit: {chances}.").format(chances=", ".join(listed))
