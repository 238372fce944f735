"""Where a monotone cubic crosses a level: against the piecewise cubic of scipy."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from clogging.interpolation import crossing

POINTS = st.lists(st.tuples(st.floats(0.01, 2.0), st.floats(-4.0, 4.0)), min_size=2, max_size=6)


@given(POINTS, st.floats(-4.0, 4.0))
def test_a_crossing_is_where_the_cubic_of_scipy_has_the_level(points, level):
    x, y = np.cumsum([gap for gap, _ in points]), np.array([value for _, value in points])
    reached = np.flatnonzero(y >= level)
    assume(reached.size and reached[0] > 0)
    at = int(reached[0])

    found = crossing(x.tolist(), y.tolist(), at, level)

    assert x[at - 1] <= found <= x[at]
    with np.errstate(over="ignore"):  # of a rise next to nothing, whose harmonic mean is nothing
        cubic = PchipInterpolator(x, y)
    assert cubic(found) == pytest.approx(level, abs=1e-9)
