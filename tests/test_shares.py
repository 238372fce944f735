"""The order of a run: nothing is lost, and who begins with servers and browsers is half of the processes."""

from itertools import chain
from types import SimpleNamespace

import pytest

from tests.shares import in_shares


def some(word, modules, each):
    return [SimpleNamespace(path=f"{word}{module}", at=at) for module in range(modules) for at in range(each)]


def parts_of(order, workers):
    """As xdist hands out what nobody has yet: to each in turn its share of what is left."""
    left, parts = list(order), []
    for behind in range(workers, 0, -1):
        size = len(left) // behind
        parts.append(left[:size])
        left = left[size:]
    return parts


@pytest.mark.parametrize("workers", [1, 2, 3, 4, 7])
def test_each_test_is_run_once_and_half_of_the_processes_begin_with_what_starts_programs(workers):
    starting, others = some("browser", 5, 4), some("plain", 11, 23)

    parts = parts_of(in_shares(starting, others, workers), workers)

    assert sorted(map(id, chain(*parts))) == sorted(map(id, starting + others))
    assert sum(part[0] in starting for part in parts) == -(-workers // 2)
    for part in parts:
        kinds = [one in starting for one in part]
        assert kinds == sorted(kinds, reverse=True), "none of them is left for later"
        first = [one.path for one in part if one in starting]
        assert first == sorted(first), "a module stays together"


def test_where_more_starts_programs_than_half_of_the_processes_take_nothing_is_lost():
    starting, others = some("browser", 9, 9), some("plain", 1, 3)

    order = in_shares(starting, others, 4)

    assert sorted(map(id, order)) == sorted(map(id, starting + others))
