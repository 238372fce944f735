import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.presentation.svg import element, outline, text

COORDINATE = st.floats(min_value=-500, max_value=500)


@given(corners=st.lists(st.tuples(COORDINATE, COORDINATE), min_size=2, max_size=9))
def test_an_outline_reads_back_as_its_corners(corners):
    start, steps = re.fullmatch(r"M(.*)l(.*)z", outline(corners)).groups()
    numbers = [
        float(n) for n in re.findall(r"-?(?:\d+(?:\.\d)?|\.\d)", f"{start} {steps}".replace("-", " -"))
    ]

    x = y = 0.0
    for (dx, dy), corner in zip(zip(numbers[::2], numbers[1::2], strict=True), corners, strict=True):
        x, y = x + dx, y + dy
        assert (x, y) == pytest.approx(corner, abs=0.06)


def test_attributes_and_text_are_escaped():
    assert element("g", title='"<&>"') == "<g title='\"&lt;&amp;&gt;\"'/>"
    assert text("a < b & c", 1.0, 2.04) == '<text x="1" y="2">a &lt; b &amp; c</text>'


def test_an_attribute_without_a_value_is_left_out():
    assert element("path", stroke_dasharray=None, stroke_width=1) == '<path stroke-width="1"/>'
