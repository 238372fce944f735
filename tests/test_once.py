"""What is done once for equal input gives what it gave, and what another input wants is done."""

from types import ModuleType

import numpy as np

from tests.once import Remembering, printed_once, remembered


def counted():
    """A function of an array and a word, and the words it was asked with."""
    asked = []

    def doubled(numbers, *, word=""):
        asked.append(word)
        return {"numbers": numbers * 2}

    return doubled, asked


def test_equal_arguments_are_computed_once_and_others_anew():
    doubled, asked = counted()
    once = remembered(doubled)

    found = [once(np.array([1.0, 2.0]), word=word)["numbers"].tolist() for word in ("a", "b", "a")]
    other = once(np.array([1.0, 3.0]), word="a")["numbers"].tolist()

    assert (asked, found, other) == (["a", "b", "a"], [[2.0, 4.0]] * 3, [2.0, 6.0])


def test_processes_that_share_a_folder_compute_once_between_them(tmp_path):
    first, asked = counted()
    other, asked_elsewhere = counted()
    apart, asked_apart = counted()

    here, there, alone = remembered(first, tmp_path), remembered(other, tmp_path), remembered(apart)
    given = [once(np.array([1.0]))["numbers"].tolist() for once in (here, there, alone, there)]

    assert given == [[2.0]] * 4
    assert (asked, asked_elsewhere, asked_apart) == ([""], [], [""])
    assert there(np.array([3.0]))["numbers"].tolist() == [6.0]


def test_functions_of_different_names_share_nothing(tmp_path):
    def halved(numbers):
        return {"numbers": numbers / 2}

    doubled, _ = counted()
    once, other = remembered(doubled, tmp_path), remembered(halved, tmp_path)

    assert once(np.array([1.0]))["numbers"].tolist() == [2.0]
    assert other(np.array([1.0]))["numbers"].tolist() == [0.5]


def test_what_a_caller_does_to_its_answer_is_not_seen_by_the_next():
    doubled, _ = counted()
    once = remembered(doubled)

    once(np.array([1.0]))["numbers"][:] = 7.0

    assert once(np.array([1.0]))["numbers"].tolist() == [2.0]


def test_a_module_keeps_what_it_is_but_for_what_remembers():
    doubled, asked = counted()
    module = ModuleType("sums")
    module.doubled, module.halved = doubled, len
    once = Remembering(module, "doubled")

    for _ in range(2):
        assert once.doubled(np.array([1.0]))["numbers"].tolist() == [2.0]

    assert (len(asked), once.halved, module.doubled) == (1, len, doubled)


def test_a_paper_is_printed_anew_when_its_source_or_a_file_beside_it_differs(tmp_path):
    printed = []

    def typeset(source, *, folder, inputs=None):
        printed.append((source, (folder / "data.json").read_bytes(), inputs))
        return b"%d" % len(printed)

    once = printed_once(typeset)
    given = []
    for source, data in ((b"a", b"1"), (b"a", b"1"), (b"b", b"1"), (b"a", b"2")):
        (tmp_path / "data.json").write_bytes(data)
        given.append(once(source, folder=tmp_path))

    assert given == [b"1", b"1", b"2", b"3"]
    assert once(b"a", folder=tmp_path, inputs={"name": "Yard 8"}) == b"4"
