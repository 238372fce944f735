"""A small edition of benchmarks/deciding_worlds.py: the order of the policies, whose seeds nothing was chosen on."""

import pytest

from benchmarks.deciding_worlds import FULL, RULE, SEEN, TOLD, WORLDS, Bench


@pytest.fixture(scope="module")
def bench():
    # Fewer futures leave the order to the luck of two or three large surfaces.
    return Bench(seed=23, size=40, futures=6)


@pytest.mark.parametrize("world", WORLDS)
def test_the_rule_beats_calendars_nothing_and_the_first_edition_in_every_world(bench, world):
    policies = bench.policies()

    total = {
        name: policies[name](world).total.sum()
        for name in policies
        if name not in (FULL, SEEN, TOLD, "dynamic programme")  # these are told what nobody knows
    }

    assert min(total, key=lambda name: total[name]) == RULE
    assert total["first edition"] > 1.5 * total[RULE]
