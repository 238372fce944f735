"""The surfaces of a site against their limits, on one logarithmic scale: where each stood, stands, and must stay."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from core.calc.format import format_rate
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display, unit_of
from core.presentation.lettering import text_width, wrap
from core.presentation.svg import element, text
from reporting.presentation import decline_marks as marks
from reporting.presentation.decline_marks import Ink

WIDTH, LEFT, RIGHT, TOP = 680.0, 168.0, 664.0, 12.0
ROW, LETTERS = 21.0, 11.0
ROOM = 0.1  # decades beside what is shown


@dataclass(frozen=True, slots=True)
class Stand:
    """One surface. now, low, high: the estimate with its 80 % range; then: where the period began, None if unknown."""

    name: str
    now_mm_h: float
    low_mm_h: float
    high_mm_h: float
    limit_mm_h: float
    then_mm_h: float | None = None


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    system: UnitSystem

    def x(self, rate_mm_h: float) -> float:
        shown = to_display(rate_mm_h, Quantity.RATE, self.system).value
        return self.x_of_log(log10(max(shown, 1e-9)))

    def x_of_log(self, power: float) -> float:
        return LEFT + (RIGHT - LEFT) * (power - self.low) / (self.high - self.low)


def standing_svg(stands: Sequence[Stand], units: str, *, for_paper: bool) -> str:
    """A row a surface, as SVG text; empty where nothing is estimated of any. for_paper: in plain colours."""
    if not stands:
        return ""
    system, ink = UnitSystem(units), Ink(for_paper)
    scale, bottom = _scale(stands, system), TOP + ROW * len(stands) + 4
    legend = _legend(stands, bottom + 36, ink)
    rows = [_row(stand, TOP + ROW * (number + 0.5), scale, ink) for number, stand in enumerate(stands)]
    return element(
        "svg",
        _axis(scale, bottom, ink),
        *rows,
        legend,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:.0f} {bottom + 46:.0f}",
        role="img",
        aria_label=standing_words(stands, units),
        font_family="sans-serif",
        font_size=LETTERS,
    )


def standing_words(stands: Sequence[Stand], units: str) -> str:
    """The same in words."""
    one_said = _("{surface}: {rate}, limit {limit}")
    said = (
        one_said.format(
            surface=one.name,
            rate=format_rate(one.now_mm_h, units),
            limit=format_rate(one.limit_mm_h, units),
        )
        for one in stands
    )
    return _("Estimated rates against the limits. {surfaces}.").format(surfaces=_("; ").join(said))


def _scale(stands: Sequence[Stand], system: UnitSystem) -> _Scale:
    seen = [
        rate
        for one in stands
        for rate in (one.low_mm_h, one.high_mm_h, one.limit_mm_h, one.now_mm_h, one.then_mm_h or one.now_mm_h)
    ]
    shown = [to_display(rate, Quantity.RATE, system).value for rate in seen if rate > 0] or [1.0]
    return _Scale(log10(min(shown)) - ROOM, log10(max(shown)) + ROOM, system)


def _axis(scale: _Scale, bottom: float, ink: Ink) -> str:
    lines, words = [], []
    for decade in range(floor(scale.low), ceil(scale.high) + 1):
        for factor in (1, 2, 5):
            power = decade + log10(factor)
            if scale.low < power < scale.high:
                x = scale.x_of_log(power)
                lines.append(f"M{x:.1f} {TOP:.0f}V{bottom:.0f}")
                shown = rounded_for_reading(factor * 10.0**decade)
                words.append(text(shown, x, bottom + 14, text_anchor="middle", fill=ink.soft))
    unit = text(unit_of(Quantity.RATE, scale.system), LEFT - 8, bottom + 14, text_anchor="end", fill=ink.soft)
    grid = element("path", d="".join(lines), fill="none", stroke=ink.grid, stroke_width=0.7)
    return "".join((grid, unit, *words))


def _row(stand: Stand, y: float, scale: _Scale, ink: Ink) -> str:
    low, high, now = (scale.x(rate) for rate in (stand.low_mm_h, stand.high_mm_h, stand.now_mm_h))
    name = next(iter(wrap(stand.name, LEFT - 20, LETTERS, 1)), "")
    parts = [
        text(name, LEFT - 10, y + 4, text_anchor="end", fill=ink.ink),
        element("path", d=f"M{LEFT:.0f} {y:.1f}H{RIGHT:.0f}", stroke=ink.grid, stroke_width=0.7),
        _range(low, high, y, ink),
        _limit_mark(scale.x(stand.limit_mm_h), y, ink),
    ]
    if stand.then_mm_h is not None:
        parts.append(_then_mark(scale.x(stand.then_mm_h), y, ink))
    return "".join((*parts, _now_mark(now, y, ink)))


def _range(low: float, high: float, y: float, ink: Ink) -> str:
    share = None if ink.fan_opacity is None else f"{ink.fan_opacity + 0.15:g}"
    return element(
        "rect", x=low, y=y - 5, width=max(high - low, 1.0), height=10, fill=ink.fan, fill_opacity=share
    )


def _limit_mark(x: float, y: float, ink: Ink) -> str:
    return element("path", d=f"M{x:.1f} {y - 9:.1f}v18", stroke=ink.limit, stroke_width=3)


def _then_mark(x: float, y: float, ink: Ink) -> str:
    return element("circle", cx=x, cy=y, r=4, fill="none", stroke=ink.line, stroke_width=1.5)


def _now_mark(x: float, y: float, ink: Ink) -> str:
    return element("circle", cx=x, cy=y, r=4.5, fill=ink.line)


def _legend(stands: Sequence[Stand], y: float, ink: Ink) -> str:
    x, parts = LEFT, []
    for words, mark in _entries(stands, y, ink):
        parts.append(mark(x + 11) + text(words, x + 28, y + 4, fill=ink.ink))
        x += 40 + text_width(words, LETTERS)
    return "".join(parts)


def _entries(stands: Sequence[Stand], y: float, ink: Ink) -> Iterator[tuple[str, marks.MarkAt]]:
    yield _("now, estimated"), lambda x: _now_mark(x, y, ink)
    yield pgettext("legend", "80 % range"), lambda x: _range(x - 10, x + 10, y, ink)
    if any(one.then_mm_h is not None for one in stands):
        yield _("when the period began"), lambda x: _then_mark(x, y, ink)
    yield _("limit"), lambda x: _limit_mark(x, y, ink)
