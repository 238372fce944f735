"""Ids of requests: new ones, and those of a proxy."""

import pytest
import structlog

from core.services import log_context


@pytest.fixture(autouse=True)
def nothing_bound():
    structlog.contextvars.clear_contextvars()
    yield
    structlog.contextvars.clear_contextvars()


def test_an_id_is_short_read_over_the_telephone_and_not_used_twice():
    made = {log_context.new_id() for _ in range(2_000)}

    assert len(made) == 2_000
    assert {len(one) for one in made} == {12}
    assert not set("".join(made)) & set("ilo01"), "taken for one another"
    assert all(log_context.WELL_FORMED.fullmatch(one) for one in made)


@pytest.mark.parametrize(
    "given",
    ["3a8f801c-072b-4805-8f38-e1337f363ed4", "4bf92f3577b34da6a3ce929d0e0e4736", "abcdefgh", "A" * 64],
)
def test_a_well_formed_id_is_taken(given):
    log_context.begin_request(given)

    assert log_context.request_id() == given


@pytest.mark.parametrize(
    "given",
    [
        "",
        "short",
        "A" * 65,
        "-begins-wrong",
        "two words here",
        "new\nline-here",
        "<script>alert",
        "ünïcode-12",
        "a" * 20 + "\n",
    ],
)
def test_any_other_is_not(given):
    log_context.begin_request(given)

    assert log_context.request_id() != given
    assert len(log_context.request_id()) == 12


def test_a_new_request_knows_nothing_of_the_one_before():
    log_context.begin_request("the-first-one")
    log_context.name_person(7, "firm")

    log_context.begin_request("the-second-one")

    assert structlog.contextvars.get_contextvars() == {"request_id": "the-second-one"}


def test_outside_of_a_request_there_is_no_id():
    assert log_context.request_id() == ""


def test_a_person_without_a_firm_is_named_alone():
    log_context.name_person(7)

    assert structlog.contextvars.get_contextvars() == {"person_id": 7}
