"""What was done to a surface and what it gave, in an owner's words."""

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.forecast_payload import GainOfCleaning, Range
from maintenance.calc.vocabulary import RecordKind
from reporting.calc.parts import RecordLine
from reporting.presentation.done import NOT_KNOWN, SHOWN, done_sentences, gave

LINE = RecordLine(
    UUID(int=1), RecordKind.CLEANING, date(2026, 5, 4), "", "Vacuum sweeping", True, "Recorded", ""
)


def gain(measured=None):
    return GainOfCleaning(date(2026, 5, 4), CleaningMethod.VACUUM, measured, Range(3.0, 2.0, 4.5, 0.5, 9.0))


def test_a_cleaning_is_told_with_its_day_and_that_nobody_tested_after_it():
    assert done_sentences([LINE]) == (f"4\xa0May\xa02026: Vacuum sweeping. {NOT_KNOWN}",)


def test_rounds_inspections_and_what_was_set_aside_are_not_cleanings():
    others = [replace(LINE, kind=kind) for kind in RecordKind if kind is not RecordKind.CLEANING]

    assert done_sentences([*others, replace(LINE, is_active=False)]) == ()


def test_only_the_first_few_are_told_in_the_order_of_the_record():
    lines = [replace(LINE, on=LINE.on - timedelta(days=n), title=f"Cleaning {n}") for n in range(SHOWN + 2)]
    between = [part for line in lines for part in (replace(line, kind=RecordKind.ROUND), line)]

    told = done_sentences(between)

    assert [sentence.split(": ")[1].split(".")[0] for sentence in told] == [
        f"Cleaning {n}" for n in range(SHOWN)
    ]


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        (0.4, "Tests before and after show no gain."),
        (1.04, "Tests before and after show no gain."),
        (1.05, "Tests before and after: rain soaks in 1.05 times as fast as before it."),
        (12.34, "Tests before and after: rain soaks in 12.3 times as fast as before it."),
    ],
)
def test_what_tests_show_is_told_and_no_gain_is_called_none(measured, said):
    assert gave(gain(measured)) == said


def test_without_tests_the_estimate_is_told_with_its_range_of_80_percent():
    assert gave(gain()) == (
        "It is estimated that rain soaked in 3 times as fast after it (80 % range 2 to 4.5)."
    )
