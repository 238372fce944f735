"""The rows of an inspector's file: every line of the page, each number with its bound, in the reader's units."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest

from accounts.calc.audience import Audience
from core.calc.bounds import Bound
from maintenance.calc.vocabulary import RecordKind
from qa.calc.inspections import FindingState
from reporting.calc.inspecting import InspectedLine, InspectedSurface, InspectorSnapshot
from reporting.calc.parts import AskedRate, FindingPart
from reporting.calc.values import BoundedRate, UnitText
from reporting.presentation.inspecting import asked_by, inspector_headers, inspector_rows

LIMIT = AskedRate(254.0, "Agreement of 2020", UnitText("At least 254 mm/h.", "At least 10 in/h."))
SURFACE = InspectedSurface(
    key=UUID(int=1),
    site="Quay",
    address="1 Shore Road",
    name="Yard",
    surface_type="Open gravel",
    area_m2=100.0,
    opened_on=date(2020, 5, 1),
    opens_later=False,
    removed_on=None,
    limit=LIMIT,
    asked=None,
    construction="",
    lines=(),
)
ROUND = InspectedLine(
    key=UUID(int=2),
    kind=RecordKind.ROUND,
    on=date(2026, 5, 4),
    title="Routine round",
    methods=("single ring", "square frame"),
    spots=UnitText("A 508 mm/h", "A 20 in/h"),
    mean=BoundedRate(508.0),
    lowest=BoundedRate(127.0, Bound.BELOW),
    result="Reaches it",
    reason=UnitText("508 is more than 254 mm/h.", "20 is more than 10 in/h."),
    reached=True,
    deviations=("Sealed poorly.", "Too little water."),
)
FINDING = FindingPart(
    UUID(int=3), "Joints", "empty", UnitText("", ""), "minor", "", date(2026, 6, 1), FindingState.OPEN, "open"
)


def table(*surfaces, units="si"):
    snapshot = InspectorSnapshot(
        Audience.LINK, "Dry Feet", date(2026, 1, 1), date(2026, 6, 10), ("Quay",), surfaces, (), ""
    )
    return [dict(zip(inspector_headers(units), row, strict=True)) for row in inspector_rows(snapshot, units)]


def with_lines(*lines):
    return replace(SURFACE, lines=lines)


def test_a_round_has_its_rates_as_numbers_and_says_which_of_them_is_only_a_bound():
    (row,) = table(with_lines(ROUND))

    assert (row["Geometric mean rate (mm/h)"], row["Geometric mean is"]) == (508.0, "exact")
    assert (row["Lowest spot (mm/h)"], row["Lowest is"]) == (127.0, Bound.BELOW.label)
    assert Bound.BELOW.label
    assert (row["Limit (mm/h)"], row["Limit asked by"]) == (254.0, "At least 254 mm/h. Agreement of 2020")
    assert row["Result"] == "Reaches it. 508 is more than 254 mm/h."
    assert row["Deviations"] == "Sealed poorly. Too little water."
    assert (row["Date"], row["Test methods"]) == ("2026-05-04", "single ring; square frame")


def test_inches_are_inches_in_head_numbers_and_sentences():
    """An inch is 25.4 mm."""
    (row,) = table(with_lines(ROUND), units="us")

    assert (row["Geometric mean rate (in/h)"], row["Lowest spot (in/h)"], row["Limit (in/h)"]) == (
        20.0,
        5.0,
        10.0,
    )
    assert row["Spots with the ring"] == "A 20 in/h"
    assert "mm/h" not in str(row)


def test_a_round_without_a_rate_has_empty_cells_and_not_nought():
    (row,) = table(with_lines(replace(ROUND, mean=None, lowest=None, spots=None, reason=None)))

    for name in (
        "Geometric mean rate (mm/h)",
        "Geometric mean is",
        "Lowest spot (mm/h)",
        "Lowest is",
        "Spots with the ring",
        "Result",
    ):
        assert row[name] == ""


def test_a_cleaning_says_how_it_was_done_and_a_finding_what_became_of_it():
    done = replace(FINDING, state_word="corrected", done="swept and filled", done_on=date(2026, 5, 9))
    line = InspectedLine(
        UUID(int=4),
        RecordKind.CLEANING,
        date(2026, 5, 4),
        "Vacuum sweeping",
        said=(UnitText("at 80 bar", "at 1160 psi"),),
        findings=(FINDING, done),
    )

    (row,) = table(with_lines(line))

    assert row["What was done or found"] == (
        "at 80 bar; Joints: empty (open); Joints: empty (corrected; 2026-05-09: swept and filled)"
    )


def test_a_surface_of_which_nothing_was_recorded_has_a_row_that_says_so():
    first, second = table(with_lines(), replace(SURFACE, name="Ramp", lines=(ROUND,)))

    assert (first["Surface"], first["What"]) == ("Yard", "Nothing was recorded in this period")
    assert (second["Surface"], second["What"]) == ("Ramp", "Routine round")


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (LIMIT, "At least 254 mm/h. Agreement of 2020"),
        (replace(LIMIT, reason=None), "Agreement of 2020"),
        (replace(LIMIT, source=""), "At least 254 mm/h."),
        (replace(LIMIT, reason=None, source=""), ""),
    ],
)
def test_what_asks_for_a_rate_is_told_as_far_as_it_is_known(asked, words):
    assert asked_by(asked, "si") == words


def test_a_file_for_strangers_names_nobody_and_no_price():
    heads = " ".join(inspector_headers("si")).lower()

    assert not any(word in heads for word in ("by whom", "recorded by", "crew", "cost", "price"))
