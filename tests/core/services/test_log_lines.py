"""Lines of the log: plain or JSON, with ids and without secrets."""

import json
import logging
import sys

import pytest
import structlog

from core.services import log_context
from core.services.log_lines import MaskedLine

SECRET = "a" * 43


@pytest.fixture(autouse=True)
def nothing_bound():
    structlog.contextvars.clear_contextvars()
    yield
    structlog.contextvars.clear_contextvars()


def record(message, *args, exc_info=None):
    return logging.LogRecord("some.place", logging.WARNING, "", 1, message, args, exc_info)


def caught():
    try:
        raise ValueError(f"bad address /join/{SECRET}/")
    except ValueError:
        return sys.exc_info()


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize("place", ["join", "calendar", "shared", "told/stop"])
def test_a_secret_address_is_masked_in_both_formats(as_json, place):
    line = MaskedLine(as_json=as_json).format(record("Not Found: %s", f"/{place}/{SECRET}/"))

    assert SECRET not in line
    assert f"/{place}/(secret)/" in line


@pytest.mark.parametrize("as_json", [False, True])
def test_a_secret_in_a_field_or_a_traceback_is_masked_too(as_json):
    structlog.contextvars.bind_contextvars(request=f"GET /shared/{SECRET}/")

    line = MaskedLine(as_json=as_json).format(record("failed", exc_info=caught()))

    assert SECRET not in line
    assert line.count("(secret)") >= 2
    assert "ValueError" in line


def test_json_is_one_object_a_line_even_with_a_traceback():
    line = MaskedLine(as_json=True).format(record("two\nlines", exc_info=caught()))

    assert "\n" not in line
    told = json.loads(line)
    assert told["event"] == "two\nlines"
    assert (told["level"], told["logger"]) == ("warning", "some.place")
    assert told["timestamp"].endswith("Z")
    assert told["exception"].startswith("Traceback")


def test_plain_says_when_how_bad_who_and_what_then_the_ids():
    log_context.begin_request("request-of-a-proxy")
    log_context.name_person(7, "a-firm")

    line = MaskedLine().format(record("The disk is %s", "full"))

    when, _, rest = line.partition(" ")
    assert when.endswith("Z")
    assert rest == (
        "WARNING some.place: The disk is full [firm_id=a-firm person_id=7 request_id=request-of-a-proxy]"
    )


def test_plain_shows_a_traceback_below():
    first, *others = MaskedLine().format(record("failed", exc_info=caught())).splitlines()

    assert first.endswith("some.place: failed")
    assert others[0] == "Traceback (most recent call last):"


@pytest.mark.parametrize("value", ["two words", "a\nline", 'a "quote"', "a=b", "a]", ""])
def test_a_field_of_a_plain_line_begins_and_ends_where_it_can_be_seen(value):
    structlog.contextvars.bind_contextvars(job=value)

    line = MaskedLine().format(record("done"))

    assert line.endswith(f"done [job={value!r}]")
    assert "\n" not in line


@pytest.mark.parametrize("as_json", [False, True])
def test_what_is_written_with_fields_goes_the_same_way(as_json, caplog):
    with caplog.at_level(logging.INFO):
        structlog.stdlib.get_logger("ours").info("task_succeeded", duration_ms=12)
    line = MaskedLine(as_json=as_json).format(caplog.records[-1])

    if as_json:
        assert json.loads(line)["duration_ms"] == 12
        assert json.loads(line)["logger"] == "ours"
    else:
        assert line.endswith("INFO ours: task_succeeded [duration_ms=12]")


def test_both_formats_carry_the_same_fields():
    log_context.begin_request("request-of-a-proxy")
    plain = MaskedLine().format(record("done"))

    told = json.loads(MaskedLine(as_json=True).format(record("done")))

    assert f"request_id={told['request_id']}" in plain
    assert set(told) == {"event", "level", "logger", "timestamp", "request_id"}
