"""The faults that are put in, each held by the code that comes of it."""

import ast

import pytest

from tests.mutation.operators import code_of, mutants_of
from tests.mutation.run import drawn

MODULE = "shop.price"


def faults(source, names=None):
    return mutants_of(source, MODULE, "shop/price.py", names or {})


def changes(source, names=None):
    return [(mutant.was, mutant.becomes) for mutant in faults(source, names)]


def run_with(source, mutant, names=None):
    namespace = {"__name__": MODULE, **(names or {})}
    exec(code_of(source, mutant, "price.py"), namespace)
    return namespace


@pytest.mark.parametrize(
    ("source", "becomes"),
    [
        ("LIMIT = 25", ["26"]),
        ("LIMIT = 12.5", ["12.75"]),
        ("LIMIT = 0.0", ["1.0"]),
        ("OPEN = True", ["False"]),
        ("a < b", ["a <= b", "a >= b"]),
        ("a >= b", ["a > b", "a < b"]),
        ("a == b", ["a != b"]),
        ("a + b", ["a - b"]),
        ("a / b", ["a * b"]),
        ("a and b", ["a or b"]),
        ("not a", ["a"]),
        ("x = -a", ["a"]),
        ("x = min(a, b)", ["max(a, b)"]),
        ("x = np.minimum(a, b)", ["np.maximum(a, b)"]),
        ("x = f(a, key=b)", ["f(a)"]),
        ("x += a", ["x -= a"]),
        ("refuse(a)", ["pass"]),
        ("a if b else c", ["a if not b else c"]),
    ],
)
def test_each_kind_of_fault_is_put_in(source, becomes):
    assert [after for _, after in changes(source)] == becomes


@pytest.mark.parametrize(
    "source",
    [
        '"""Words."""',
        "NAME = 'words'",
        "x = f'{a:.1f} of {b + c}'",
        "x = zip(a, b, strict=True)",
        "a: int = b",
        "def f():\n    return None",
        "if TYPE_CHECKING:\n    import a",
        "@cache(4)\ndef f(a: Least[3]) -> Most[4]: ...",
    ],
)
def test_words_annotations_and_decorators_are_left_alone(source):
    assert changes(source) == []


@pytest.mark.parametrize(
    ("source", "idle"),
    [
        ("HAIR = 1e-9", True),
        ("RATE = 0.001", False),
        ("def f():\n    return False", True),
        ("def f():\n    return ()", True),
        ("def f():\n    return a", False),
    ],
)
def test_what_nobody_could_notice_is_not_tried(source, idle):
    first = faults(source)[0]

    assert first.is_idle == idle
    assert drawn([("shop/price.py", [first])], 5, 1) == ([] if idle else [first])


def test_a_member_of_an_enumeration_becomes_the_one_that_follows():
    from core.calc.units import UnitSystem

    names = {"UnitSystem": UnitSystem}

    assert changes("x = UnitSystem.SI", names) == [("UnitSystem.SI", "UnitSystem.US")]
    assert changes("x = UnitSystem.US", names) == [("UnitSystem.US", "UnitSystem.SI")]
    assert changes("x = UnitSystem.choices", names) == []


SOURCE = '''
RATE = 3


class Till:
    most = 10

    def total(self, count, rate=RATE + 0):
        """What is to pay."""
        if count > self.most:
            raise ValueError(count)
        return count * rate
'''


def test_a_fault_names_its_function_and_the_lines_of_its_statement():
    found = {str(mutant): (mutant.function, mutant.first, mutant.last) for mutant in faults(SOURCE)}

    assert found["shop/price.py:2 module: 3  ->  4"] == ("", 2, 2)
    assert found["shop/price.py:6 module: 10  ->  11"] == ("", 6, 6)
    assert found["shop/price.py:12 Till.total: count * rate  ->  count / rate"] == ("Till.total", 12, 12)
    assert [function for function, *_ in found.values()].count("Till.total") == 5


@pytest.mark.parametrize(
    ("fault", "total"),
    [
        ("module: 3  ->  4", 40),
        ("count * rate  ->  count / rate", 10 / 3),
        ("count > self.most  ->  count", None),
    ],
)
def test_the_code_of_a_fault_behaves_by_it_and_by_nothing_else(fault, total):
    mutant = next(mutant for mutant in faults(SOURCE) if fault in str(mutant))

    till = run_with(SOURCE, mutant)["Till"]()

    if total is None:
        with pytest.raises(ValueError):
            till.total(10)
    else:
        assert till.total(10) == pytest.approx(total)


def test_every_fault_of_a_module_compiles_and_differs_from_it():
    sound = ast.dump(ast.parse(SOURCE))
    for mutant in faults(SOURCE):
        assert code_of(SOURCE, mutant, "price.py")
        assert mutant.was != mutant.becomes
    assert ast.dump(ast.parse(SOURCE)) == sound


def test_a_seed_draws_the_same_faults_whatever_else_is_drawn():
    one, other = [("shop/price.py", faults(SOURCE))], [("shop/a.py", faults("x = 1"))]

    assert drawn(one, 4, 7) == drawn([*other, *one], 4, 7)[1:]
    assert drawn(one, 4, 7) != drawn(one, 4, 8)
    assert len(drawn(one, 400, 7)) == len(faults(SOURCE))


def test_an_import_and_a_loop_are_walked_in_the_order_of_the_source():
    lines = [mutant.line for mutant in faults("for i in range(3):\n    x = i + 1\nelse:\n    y = 4")]

    assert lines == sorted(lines)
