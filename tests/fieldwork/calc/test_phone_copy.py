"""The order in which the entries of a copy can be stored."""

from itertools import permutations
from uuid import UUID

import pytest

from fieldwork.calc.phone_copy import parents_first

IDS = [str(UUID(int=number)) for number in range(4)]


def entry(number, *parents):
    path = "/".join(f"{{entry:{IDS[parent]}}}" for parent in parents)
    return {"id": IDS[number], "meta": {"path": f"/{path}/"}}


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_each_comes_after_what_it_names(order):
    entries = [entry(0), entry(1, 0), entry(2, 1), entry(3, 0, 2)]

    ordered = parents_first([entries[number] for number in order])

    assert [IDS.index(one["id"]) for one in ordered] == [0, 1, 2, 3]


def test_what_names_nothing_keeps_its_order():
    entries = [entry(2), entry(0), entry(1)]

    assert parents_first(entries) == entries


@pytest.mark.parametrize(
    "odd",
    [
        [entry(0, 0)],
        [entry(0, 1), entry(1, 0)],
        [{}, {"id": 3, "meta": []}, {"meta": {"path": 7}}, {"id": None, "meta": {}}],
        [{"id": IDS[0]}, {"id": IDS[0]}],
    ],
)
def test_nothing_is_dropped_whatever_it_holds(odd):
    assert sorted(parents_first(odd), key=str) == sorted(odd, key=str)
