"""The handbook and a forecast worked through, in French: sentences, numbers and days."""

import re

import pytest
from django.utils.translation import override

from core.calc.units import UnitSystem
from reporting.presentation.handbook import book
from reporting.presentation.worked import worked_forecast
from tests.reporting.presentation.test_worked import forecast


@pytest.fixture(autouse=True)
def french():
    with override("fr"):
        yield


def chapters():
    return book.handbook("si", "EUR", for_paper=False).chapters


def said():
    blocks = [block for chapter in chapters() for block in chapter.blocks]
    text = " ".join(" ".join([block.text, *(" ".join(row) for row in block.rows)]) for block in blocks)
    return re.sub(r"[\u00a0\u202f]", " ", text)


def test_each_language_has_its_own():
    with override("en-gb"):
        english = [chapter.title for chapter in chapters()]

    assert "Sans réseau" in [chapter.title for chapter in chapters()]
    assert "Without signal" in english


def test_its_numbers_and_days_are_french():
    text = said()

    assert "mise en service le 6 avr. 2020" in text
    assert "3,6 kg" in text
    assert "jusqu’à 2 500 m²" in text
    assert not re.search(r"\d\.\d", text)


def test_every_chapter_and_its_titles_are_french():
    def titles():
        return {
            block.text
            for chapter in chapters()
            for block in chapter.blocks
            if block.is_title or block.is_table
        } | {chapter.title for chapter in chapters()}

    with override("en-gb"):
        english = titles()

    assert len(titles()) == len(english)
    assert not titles() & english


@pytest.mark.parametrize("system", UnitSystem)
def test_a_forecast_is_worked_through_with_its_numbers(system):
    chance, reached = worked_forecast(forecast(), system.value)

    assert re.match(r"x = ln [\d,\s]+ = \d,\d\d \(ln ", chance.with_numbers)
    assert re.search(r"P = \d+,\d\s%$", chance.then[1])
    assert reached.then[0].startswith("50\u00a0% entre les deux, le ")
