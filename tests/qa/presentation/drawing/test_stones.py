from math import dist

import pytest

from qa.presentation.drawing.stones import Fill, pack_stones


def area(corners):
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)) / 2


@pytest.mark.parametrize("porosity", [0.30, 0.40])
@pytest.mark.parametrize(("smallest", "largest"), [(5, 25), (19, 63)])
def test_voids_take_up_about_their_recorded_share_of_the_picture(porosity, smallest, largest):
    fill = Fill(10 * largest, 8 * largest, smallest, largest, porosity)

    stones = pack_stones(fill, seed=2)

    within = [s for s in stones if 0 <= sum(x for x, _ in s.corners) / len(s.corners) <= 10 * largest]
    share = 1 - sum(area(s.corners) for s in within) / (80 * largest**2)
    assert share == pytest.approx(porosity, abs=0.03)


def test_stones_lie_within_the_height_and_have_their_true_size():
    stones = pack_stones(Fill(500, 200, 10, 30, 0.4), seed=1)

    for stone in stones:
        widest = max(dist(a, b) for a in stone.corners for b in stone.corners)
        assert 10 * 0.6 <= widest <= 30 * 1.3
        assert min(y for _, y in stone.corners) >= -4
        assert max(y for _, y in stone.corners) <= 204


def test_stones_larger_than_the_layer_leave_it_empty_rather_than_fail():
    assert pack_stones(Fill(200, 15, 40, 60, 0.4), seed=1) == ()
