"""Each trial in a child of its own: what becomes of it, and what it leaves behind."""

import os
import signal
import time
from dataclasses import replace

import pytest

from core.calc import format as texts
from tests.mutation import reach, run, trial
from tests.mutation.operators import Mutant, mutants_of
from tests.mutation.trial import ALIVE, KILLED, NOT_SWAPPED, TIMED_OUT, Trial, outcomes

ONE = Mutant("shop.price", "shop/price.py", 3, 0, 2, 2, 2, "", "3", "4")


def tried(notices, trials=(ONE,), longest_s=20.0):
    return [
        (done.mutant, outcome)
        for done, outcome in outcomes([Trial(one, (), longest_s) for one in trials], notices)
    ]


def never_ends(_):
    while True:
        time.sleep(0.01)


def crashes(_):
    os.kill(os.getpid(), signal.SIGKILL)


def raises(_):
    raise ZeroDivisionError


@pytest.mark.parametrize(
    ("notices", "outcome"),
    [
        (lambda _: True, KILLED),
        (lambda _: False, ALIVE),
        (crashes, KILLED),
        (raises, KILLED),
    ],
)
def test_a_fault_is_noticed_where_a_test_fails_or_the_process_ends(notices, outcome):
    assert tried(notices) == [(ONE, outcome)]


def test_a_fault_that_lets_the_tests_run_for_ever_is_stopped():
    assert tried(never_ends, longest_s=0.2) == [(ONE, TIMED_OUT)]


def test_every_fault_is_tried_once_whatever_becomes_of_the_others():
    faults = [replace(ONE, place=place) for place in range(7)]

    found = dict(tried(lambda one: one.mutant.place % 3 == 0, faults))

    assert found == {one: KILLED if one.place % 3 == 0 else ALIVE for one in faults}


def fault_of(name, was):
    path = "core/calc/format.py"
    source = (reach.ROOT / path).read_text(encoding="utf-8")
    found = mutants_of(source, "core.calc.format", path, vars(texts))
    return next(one for one in found if one.function == name and one.was == was)


def test_a_fault_is_put_into_the_function_that_everybody_holds_and_only_in_the_child():
    held = texts.first_named
    functions, _ = trial._functions_and_caches()
    fault = fault_of("first_named", "more > 0")

    def notices(one):
        trial._swap(one.mutant, functions)
        return held(["Yard", "Ramp"], 1) != "Yard and 1 more" or held(["Yard"], 1) != "Yard"

    assert tried(notices, [fault]) == [(fault, KILLED)]
    assert held(["Yard", "Ramp"], 1) == "Yard and 1 more"
    assert held(["Yard"], 1) == "Yard"


def test_a_function_that_is_nowhere_to_be_found_is_tried_from_the_start():
    fault = fault_of("first_named", "more > 0")

    assert tried(lambda one: trial._swap(one.mutant, {}), [fault]) == [(fault, NOT_SWAPPED)]


def test_a_control_that_fails_stops_the_run():
    control = run.control([Trial(ONE, ("a",), 1.0), Trial(replace(ONE, place=4), ("a", "b"), 2.0)])

    assert control.tests == ("a", "b")
    assert run.without_control([(control, ALIVE), (Trial(ONE, (), 1.0), KILLED)]) == [
        (Trial(ONE, (), 1.0), KILLED)
    ]
    with pytest.raises(RuntimeError, match="The tests fail without a fault"):
        run.without_control([(control, KILLED)])


def test_what_was_noticed_before_is_told_by_place_and_text(tmp_path, monkeypatch):
    monkeypatch.setattr(run, "PROGRESS", tmp_path / "progress.txt")
    assert run.noticed_before() == set()

    faults = [replace(ONE, line=line) for line in range(4)]
    for one, outcome in zip(faults, (KILLED, ALIVE, TIMED_OUT, NOT_SWAPPED), strict=True):
        run.noted(Trial(one, (), 1.0), outcome)

    assert run.noticed_before() == {str(faults[0]), str(faults[2])}


def test_the_table_counts_by_file_and_lists_what_is_left():
    other = replace(ONE, path="shop/till.py", line=9)
    results = [
        (Trial(ONE, (), 1.0), KILLED),
        (Trial(replace(ONE, line=5), (), 1.0), TIMED_OUT),
        (Trial(other, (), 1.0), ALIVE),
    ]

    head, price, till, whole, share, left = run.table(results, 3)

    assert head.startswith("seed 3 ")
    assert (price.split(), till.split()) == (
        ["shop/price.py", "2", "1", "1", "0"],
        ["shop/till.py", "1", "0", "0", "1"],
    )
    assert whole.split() == ["all", "3", "1", "1", "1"]
    assert share == "33.3 % alive"
    assert left == "shop/till.py:9 module: 3  ->  4"


@pytest.fixture
def small_project(tmp_path, monkeypatch):
    """Three modules one above the other, and a test of each."""
    files = {
        "shop/units.py": "GRAM = 1",
        "shop/price.py": "from shop.units import GRAM",
        "shop/till.py": "from . import price\nimport django.db",
        "tests/test_units.py": "from shop import units",
        "tests/test_price.py": "import shop.price",
        "tests/test_till.py": "from shop.till import total",
        "tests/test_nothing.py": "import math",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.setattr(reach, "ROOT", tmp_path)
    return reach.Imports()


def test_tests_are_as_far_from_a_module_as_the_imports_between_them(small_project):
    assert small_project.distances("shop.units") == {
        "shop/price.py": 1,
        "tests/test_units.py": 1,
        "shop/till.py": 2,
        "tests/test_price.py": 2,
        "tests/test_till.py": 3,
    }


def test_what_leads_to_a_package_is_found_however_far_it_is(small_project):
    assert small_project.leading_to("django") == {"shop/till.py", "tests/test_till.py"}


def test_the_model_has_tests_of_its_own_group():
    assert (reach.group_of("clogging/decline.py"), reach.group_of("qa/calc/ring.py")) == ("clogging", "calc")
