"""What is drawn for a run on PostgreSQL: the same by the same seed, and all in the course of runs."""

from tests.on_postgresql import ALWAYS, TESTS, drawn, folders


def test_a_seed_draws_the_same_again_and_another_something_else():
    assert drawn(7) == drawn(7)
    assert drawn(7) != drawn(8)


def test_what_has_to_run_always_is_always_there():
    assert all((TESTS / name).exists() for name in ALWAYS)
    assert all(set(ALWAYS) <= set(drawn(seed)) for seed in range(20))


def test_each_folder_sends_one_and_all_come_round():
    everything = {module for modules in folders().values() for module in modules}

    assert len(folders()) > 30
    assert all(set(modules) & set(drawn(3)) for modules in folders().values())
    assert set().union(*(drawn(seed) for seed in range(400))) == everything | set(ALWAYS)
