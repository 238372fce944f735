"""What phones are told, and what is told of them, in French."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from django.utils.translation import override

from fieldwork.calc.agents import agent_in_words
from fieldwork.calc.answers import FieldError, refused
from fieldwork.presentation import phones
from fieldwork.presentation.taken_in import in_short

ZONE = ZoneInfo("Europe/Paris")
MADE = datetime(2026, 3, 3, 8, 5, tzinfo=UTC)


@pytest.fixture(autouse=True)
def french():
    with override("fr"):
        yield


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (1, "1 saisie attend, du 3 mars 2026, 09:05"),
        (2, "2 saisies attendent, la plus ancienne du 3 mars 2026, 09:05"),
    ],
)
def test_what_waits_is_counted_and_dated(count, said):
    waiting = [SimpleNamespace(made_at=MADE + timedelta(days=n)) for n in range(count)]

    assert phones._waits(waiting, ZONE).replace("\u00a0", " ") == said


def test_a_clock_is_said_to_be_slow_or_fast():
    phone = SimpleNamespace(was_replaced=False, is_protected=True, offset_s=3 * 3600.0)

    assert phones._warnings(phone, False) == [
        "Son horloge retarde de 3 heures. Faites-la régler par le réseau."
    ]


def test_a_reason_stands_behind_the_name_of_its_field():
    said = refused([FieldError("area", "Aire", "Saisissez un nombre.")], []).content["text"]

    assert said == "Aire\u00a0: Saisissez un nombre."


def test_a_copy_is_summed_up():
    lines = [
        SimpleNamespace(state="Enregistré"),
        SimpleNamespace(state="Refusé"),
        SimpleNamespace(state="Refusé"),
    ]

    assert in_short(lines) == "enregistré\u00a0: 1, refusé\u00a0: 2"


def test_a_phone_is_named():
    assert agent_in_words("Mozilla/5.0 (Linux; Android 15) Chrome/156.0 Mobile Safari/537.36") == (
        "Chrome 156 sur Android"
    )
