"""Figures worked through with their own numbers."""

import math
import re

import pytest

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc.acceptance import judge_acceptance
from qa.calc.limits import Agreed, governing_acceptance
from qa.calc.ring import PROCEDURES, ring_rate
from qa.calc.rounds import Rate, round_statistics
from qa.models import InfiltrationTest
from qa.presentation.worked import MOST_NAMED, worked_acceptance, worked_mean, worked_ring
from tests.sums import sides

READINGS = {UnitSystem.SI: (3.6, 300.0, 60.0), UnitSystem.US: (8.0, 12.0, 75.0)}


def ring(system=UnitSystem.SI, **changes):
    mass, diameter, elapsed = READINGS[system]
    values = {"test_mass": mass, "ring_diameter": diameter, "elapsed_s": elapsed} | changes
    return InfiltrationTest(method=TestMethod.RING.value, unit_system=system.value, **values)


@pytest.mark.parametrize("system", list(UnitSystem))
def test_the_ring_is_worked_through_in_the_units_of_its_readings(system):
    worked = worked_ring(ring(system))

    its = PROCEDURES[system]
    mass, diameter, elapsed = READINGS[system]
    found = float(
        re.search(r"= ([\d.,]+) " + re.escape(its.rate_unit), worked.with_numbers).group(1).replace(",", "")
    )
    assert found == pytest.approx(ring_rate(mass, diameter, elapsed, system), rel=0.01)
    assert its.mass_unit in worked.with_numbers
    assert its.length_unit in worked.with_numbers
    assert "K · M" in worked.formula
    assert "hold the constant against the edition" in worked.source


@pytest.mark.parametrize(
    "changes", [{"elapsed_s": None}, {"elapsed_s": 0.0}, {"test_mass": None}, {"ring_diameter": None}]
)
def test_without_a_reading_there_is_nothing_to_work_through(changes):
    assert worked_ring(ring(**changes)) is None


def test_another_method_has_another_formula():
    other = next(method for method in TestMethod if method is not TestMethod.RING)

    assert worked_ring(InfiltrationTest(method=other.value, elapsed_s=60.0)) is None


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_mean_of_spots_is_worked_through(units):
    rates = [Rate(mm_h) for mm_h in (508.0, 1016.0, 2032.0)]

    worked = worked_mean(rates, units)

    shown = [float(one) for one in re.findall(r"ln ([\d.]+)", worked.with_numbers)]
    result = float(re.search(r"= ([\d.]+) (?:mm|in)/h$", worked.with_numbers).group(1))
    assert math.exp(sum(map(math.log, shown)) / 3) == pytest.approx(result, rel=0.01)
    assert "/ 3)" in worked.with_numbers


def test_of_one_spot_there_is_no_mean():
    assert worked_mean([Rate(500.0)], "si") is None


def test_of_many_spots_only_some_are_named_and_all_counted():
    worked = worked_mean([Rate(500.0)] * (MOST_NAMED + 3), "si")

    assert worked.with_numbers.count("ln ") == MOST_NAMED
    assert f"/ {MOST_NAMED + 3})" in worked.with_numbers
    assert "…" in worked.with_numbers


def test_a_bound_enters_at_its_bound_and_is_told():
    worked = worked_mean([Rate(500.0, Bound.BELOW), Rate(500.0)], "si")

    assert "at its bound" in worked.words
    assert worked.with_numbers.endswith("500 mm/h")


def judged(rates, asked_mm_h, units="si", needed=3):
    statistics = round_statistics(rates)
    asked = governing_acceptance(agreed=Agreed(asked_mm_h, "the contract"), system=UnitSystem(units))
    verdict = judge_acceptance(
        statistics.mean, asked, spots=len(rates), needed=needed, system=UnitSystem(units)
    )
    return worked_acceptance(rates, statistics.mean, asked, verdict, units), verdict


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize(("asked_mm_h", "sign"), [(900.0, "≥"), (1500.0, "<")])
def test_a_verdict_is_worked_through_by_the_mean_that_was_judged(units, asked_mm_h, sign):
    rates = [Rate(mm_h) for mm_h in (508.0, 1016.0, 2032.0)]

    worked, verdict = judged(rates, asked_mm_h, units)

    step, shown = sides(worked.with_numbers)
    assert step == pytest.approx(shown, rel=0.01)
    assert worked.with_numbers.rpartition(" = ")[2] in verdict.reason
    (line,) = worked.then
    assert f" {sign} " in line
    assert line.endswith(verdict.judgement.in_sentence)


def test_a_round_that_cannot_tell_is_not_worked_through():
    assert judged([Rate(500.0)], 900.0, needed=3)[0] is None
    assert worked_acceptance([], None, None, None, "si") is None
