import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.presentation.lettering import spread, text_width, wrap

BOXES = st.lists(
    st.tuples(st.floats(min_value=0, max_value=400), st.floats(min_value=5, max_value=60)),
    min_size=1,
    max_size=12,
)


@given(boxes=BOXES)
def test_spread_boxes_never_overlap_and_never_begin_above_the_top(boxes):
    boxes = sorted(boxes)
    heights = [h for _, h in boxes]

    placed = spread([c for c, _ in boxes], heights, top=0)

    assert placed[0] - heights[0] / 2 >= -1e-9
    for i in range(len(placed) - 1):
        assert placed[i + 1] - placed[i] >= (heights[i] + heights[i + 1]) / 2 - 1e-6


def test_boxes_with_room_stay_where_they_were():
    assert spread([50, 100, 200], [20, 20, 20], top=0) == [50, 100, 200]


def test_two_boxes_at_one_place_part_evenly():
    assert spread([100, 100], [20, 20], top=0) == [90, 110]


@given(content=st.text(min_size=1, max_size=80), lines=st.integers(min_value=1, max_value=4))
def test_wrapped_lines_fit_their_width(content, lines):
    rows = wrap(content, 100, 12, lines)

    assert len(rows) <= lines
    assert all(text_width(row, 12) <= 100 for row in rows)


@pytest.mark.parametrize(
    ("content", "rows"),
    [("80 mm · 40\u00a0%\u00a0voids", ["80 mm", "40\u00a0%\u00a0voids"]), ("", []), ("one", ["one"])],
)
def test_a_dot_between_values_is_dropped_at_the_end_of_a_line(content, rows):
    assert wrap(content, 75, 12, 3) == rows
