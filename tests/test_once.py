"""What is done once for equal input gives what it gave, and what another input wants is done."""

import numpy as np

from tests.once import remembered


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


def test_what_a_caller_does_to_its_answer_is_not_seen_by_the_next():
    doubled, _ = counted()
    once = remembered(doubled)

    once(np.array([1.0]))["numbers"][:] = 7.0

    assert once(np.array([1.0]))["numbers"].tolist() == [2.0]
