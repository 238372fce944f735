"""Problems as RFC 9457 has them."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.calc.problems import KINDS, LONGEST_VALUE, Problem, ProblemError, Wrong, pointer_of, short


@pytest.mark.parametrize("status", KINDS)
def test_every_kind_has_a_title_a_word_of_its_own_and_says_what_to_do(status):
    kind = KINDS[status]

    assert kind.title
    assert kind.what_to_do.endswith(".")
    assert [one.word for one in KINDS.values()].count(kind.word) == 1


def test_a_problem_has_the_members_of_the_standard():
    told = Problem(412, "It changed.", "/api/sites/1", "/api/docs/").as_json()

    assert told == {
        "type": "/api/docs/#problem-changed-since",
        "title": "It was changed since you read it",
        "status": 412,
        "detail": "It changed.",
        "instance": "/api/sites/1",
    }


def test_what_is_wrong_stands_in_errors_with_its_place_and_value():
    wrong = Wrong("Give a day.", "#/tested_on", value="soon")

    told = Problem(422, "No.", "/", "/", [wrong, Wrong("Odd.", parameter="page_size")]).as_json()

    assert told["errors"] == [
        {"detail": "Give a day.", "pointer": "#/tested_on", "value": "soon"},
        {"detail": "Odd.", "parameter": "page_size"},
    ]


def test_a_status_without_a_kind_is_told_all_the_same():
    assert Problem(418, "No.", "/", "/").as_json()["type"] == "about:blank"


def test_an_error_carries_what_its_answer_needs():
    error = ProblemError(429, "Wait.", headers={"Retry-After": "5"})

    assert (error.status, str(error), error.headers) == (429, "Wait.", {"Retry-After": "5"})


@given(st.lists(st.text() | st.integers(0, 99)))
def test_a_pointer_leads_back_to_its_place(places):
    """Undone as RFC 6901, section 4, says: strokes part, then ~1 and in the end ~0."""
    parts = pointer_of(places)[1:].split("/")[1:]

    assert [part.replace("~1", "/").replace("~0", "~") for part in parts] == [str(one) for one in places]


@given(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text()
    | st.lists(st.text())
    | st.dictionaries(st.text(), st.text())
)
def test_a_value_that_comes_back_is_short_and_can_be_sent(value):
    shown = short(value)

    assert json.loads(json.dumps(shown, allow_nan=False)) == shown
    assert not isinstance(shown, str) or len(shown) <= LONGEST_VALUE + 1
