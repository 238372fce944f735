"""Where a monotone cubic through some points crosses a level, without arrays: a few points and one crossing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

_HALVINGS = 60  # of the stretch between two points, after which nothing is left of it


def _inner_slope(before: float, after: float, gap_before: float, gap_after: float) -> float:
    """Slope between two gaps of rise before and after: Fritsch & Butland (1984), as scipy cites it, 10.1137/0905021."""
    if before * after <= 0.0:
        return 0.0
    first, second = 2.0 * gap_after + gap_before, gap_after + 2.0 * gap_before
    return (first + second) / (first / before + second / after)


def _end_slope(near: float, far: float, gap_near: float, gap_far: float) -> float:
    """Slope at the end beside the gap near: the parabola of three points, held to keep the cubic monotone."""
    slope = ((2.0 * gap_near + gap_far) * near - gap_near * far) / (gap_near + gap_far)
    if slope * near <= 0.0:
        return 0.0
    return 3.0 * near if near * far <= 0.0 and abs(slope) > 3.0 * abs(near) else slope


def _slope(gaps: Sequence[float], rises: Sequence[float], at: int) -> float:
    """Slope of the curve at the point at; gaps and rises (n - 1,) between the points, a rise a unit."""
    if len(gaps) == 1:
        return rises[0]
    if at == 0:
        return _end_slope(rises[0], rises[1], gaps[0], gaps[1])
    if at == len(gaps):
        return _end_slope(rises[-1], rises[-2], gaps[-1], gaps[-2])
    return _inner_slope(rises[at - 1], rises[at], gaps[at - 1], gaps[at])


def crossing(x: Sequence[float], y: Sequence[float], at: int, level: float) -> float:
    """Where the monotone cubic through (x, y) reaches level between the points at - 1, below it, and at, not below it.

    By halving, so that it is right to the last digits whatever the slopes. x: rising, two points or more.
    """
    gaps = [b - a for a, b in pairwise(x)]
    rises = [(b - a) / gap for (a, b), gap in zip(pairwise(y), gaps, strict=True)]
    gap, rise = gaps[at - 1], rises[at - 1]
    first, last = _slope(gaps, rises, at - 1), _slope(gaps, rises, at)
    square, cube = 3.0 * rise - 2.0 * first - last, first + last - 2.0 * rise
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        part = 0.5 * (low + high)
        if y[at - 1] + gap * part * (first + part * (square + part * cube)) < level:
            low = part
        else:
            high = part
    return x[at - 1] + gap * high
