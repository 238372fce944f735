"""The shape of a decline where no record holds it: from three quarters of a year after the last event on.

kappa is fitted to declines that were seen, one for all surfaces of a kind. Further ahead two things are known of it
that the filter cannot carry, since they are not linear in the state: a surface that clogs at half the pace takes twice
the time to its floor, so that a kappa above 0 goes with the surface's own decline; and what lies deeper than anything
tested may level off or fall away. So each draw of the portfolio parameters is given a kappa of its own from that day
on. The slope of that day stays what the records say, only its change is another: the nearest years hardly move, and the
far dates become as doubtful as they are.

A kappa below 0 stays that of the kind. Where a decline speeds up, lam is what an open surface loses, which is little
and badly known; most of what a clogged one loses comes from kappa itself, and a ratio of two small numbers says nothing
of its pace. The more of the slope comes from there, the less is a slowing ahead to be expected.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.special import ndtri

from . import priors
from .decline import Pace, Passage, passage_ahead, then
from .packing import Floats

# For so long after the last event the fitted shape holds: less than the usual year between two tests. Settled, like the
# size of the doubt, on invented worlds of other equations.
VOUCHED_YR = 0.75
_SLOWEST, _FASTEST = 1.0 / 3.0, 3.0  # of the decline usual for the kind: how far kappa follows it
_LEAST_USUAL = 0.01  # a year; below it a kind does not decline, and a ratio to it says nothing
_LEAST_SLOPE, _STEEPEST_SLOPE = 0.05, 2.0  # a year; between them the doubt about kappa goes with the slope
_LEAST_KAPPA = -3.0  # a year; a loss that grows by e in four months is soon sealed, and faster means nothing


class Extrapolation(NamedTuple):
    """A span of time from the last event, (..., M) each: its `Passage`, what is taken off the means of x and b besides,
    and the kappa it ends with."""

    span: Passage
    less_x: Floats
    less_b: Floats
    kappa: Floats


@lru_cache(maxsize=4)
def _places(n: int) -> Floats:
    """(n,) standard normals, one a draw: even steps of probability in an order that is no draw's own."""
    order = np.random.default_rng(7).permutation(n)
    return np.asarray(ndtri((order + 0.5) / n))


def _kappa_beyond(pace: Pace, behind: Floats, lam: Floats, usual_lam: Floats) -> Floats:
    """kappa (..., M). behind: log rate over that as new, 0 or less; lam: decline; usual_lam: that of the kind."""
    falls = lam + pace.kappa * behind
    slope = np.clip(falls, _LEAST_SLOPE, _STEEPEST_SLOPE)
    own = np.clip(np.maximum(lam, 0.0) / np.maximum(usual_lam, _LEAST_USUAL), _SLOWEST, _FASTEST)
    kept = np.where(pace.kappa < 0.0, pace.kappa, pace.kappa * own)
    sped_up = np.clip(pace.kappa * behind / np.maximum(falls, _LEAST_SLOPE), 0.0, 1.0)
    middle = priors.AHEAD.mean + (priors.AHEAD_WHERE_FASTER - priors.AHEAD.mean) * sped_up
    doubt = middle + priors.AHEAD.sd * _places(pace.kappa.shape[-1])
    return np.maximum(kept + slope * doubt, _LEAST_KAPPA)


def extrapolate(pace: Pace, years: Floats, above: Floats, lam: Floats, usual_lam: Floats) -> Extrapolation:
    """A span of years from the last event under M draws of the parameters, everything broadcast to (..., M).

    above: mean log rate over that as new, x - b, just after the event; lam: its decline a year; usual_lam: that of its
    kind. Sizes: priors.AHEAD. Exact for a span cut anywhere, since the day of the bend does not depend on the cut.
    """
    first_yr = np.minimum(years, VOUCHED_YR)
    first = passage_ahead(pace, first_yr, above, lam)
    reached = first.keep * above - (first.fall - first.sink) * lam
    behind = np.minimum(reached, 0.0)
    kappa = _kappa_beyond(pace, behind, lam, usual_lam)
    # A constant added to lam keeps the slope of the day of the bend.
    added = (pace.kappa - kappa) * behind
    second = passage_ahead(pace._replace(kappa=kappa), years - first_yr, reached, lam + added)
    return Extrapolation(
        then(first, second),
        second.fall * added,
        second.sink * added,
        np.where(years > VOUCHED_YR, kappa, pace.kappa),
    )
