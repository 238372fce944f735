"""Lines of a surface's record in words."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils.html import strip_tags

from core.calc.paving import CleaningMethod
from maintenance.calc.forecast_payload import GainOfCleaning, Range
from maintenance.calc.vocabulary import RecordKind
from reporting.calc.parts import RecordLine
from reporting.calc.values import Money, UnitText
from reporting.presentation.record import gain_words, outcome_words

ROUND = RecordLine(uuid4(), RecordKind.ROUND, date(2026, 1, 1), "", "Routine round", True, "Recorded", "")
CLEANING = replace(ROUND, kind=RecordKind.CLEANING, title="Vacuum sweeping", wetness="dry")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, ": no tests yet"),
        ({"others": ("bucket",)}, ": bucket, no rate"),
        ({"spots": 1, "mean_mm_h": 254.0}, ": 254\u00a0mm/h geometric mean of 1 spot"),
        (
            {
                "spots": 3,
                "mean_mm_h": 254.0,
                "method": "frame",
                "bounded": True,
                "others": ("bucket", "meter"),
            },
            ": 254\u00a0mm/h geometric mean of 3 spots by frame, some are limits (at most or at least); "
            "also bucket, meter",
        ),
    ],
)
def test_a_round_says_what_its_tests_showed(changes, said):
    assert strip_tags(outcome_words(replace(ROUND, **changes), "si")) == said


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, ", dry"),
        ({"share_of_area": 0.5}, ", 50\u00a0% of the area, dry"),
        ({"cost": Money(Decimal(1200), "CHF")}, ", dry, 1,200.00 CHF"),
        ({"cost": Money(Decimal(0), "CHF")}, ", dry"),
        ({"details": (UnitText("at 80 bar", "at 1160 psi"),)}, ", dry, at 80 bar"),
    ],
)
def test_a_cleaning_says_how_it_was_done(changes, said):
    assert outcome_words(replace(CLEANING, **changes), "si") == said


def test_names_that_people_typed_stay_text():
    shown = outcome_words(replace(ROUND, spots=1, mean_mm_h=1.0, method="<b>"), "si")

    assert "&lt;b&gt;" in shown


def test_what_a_cleaning_gave_is_told_by_tests_and_model():
    gain = GainOfCleaning(date(2026, 1, 1), CleaningMethod.VACUUM, 2.0, Range(1.5, 1.2, 1.9, 1.1, 2.2))

    assert gain_words(gain) == (
        "Tests before and after: 2 times the rate. Model: 1.5 times (80 % range 1.2 to 1.9)."
    )
    assert gain_words(replace(gain, measured_factor=None)).startswith("Model: ")
