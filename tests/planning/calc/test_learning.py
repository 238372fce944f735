"""What cleanings gave against what was expected."""

from datetime import date, timedelta
from math import exp

import pytest

from maintenance.calc.forecast_payload import Range, RoundAgainstForecast
from planning.calc.learning import FEWEST, Cleaned, rounds_about, summaries

DAY = timedelta(days=1)
ON = date(2025, 6, 1)


def round_on(day, measured=500.0, expected=500.0):
    return RoundAgainstForecast(
        day, 3, measured, Range(expected, expected / 2, expected * 2, 1.0, 2.0), 0.5, 0.5
    )


def cleaned(measured=500.0, crew="North", method="Vacuum sweeping", before=250.0):
    return Cleaned(ON, method, crew, "Yard", 1, before, round_on(ON + DAY, measured))


def test_the_rounds_about_a_cleaning_are_the_nearest_on_both_sides():
    rounds = [round_on(ON + days * DAY, measured=days + 1000.0) for days in (-500, -300, -20, 30, 60, 200)]

    before, after = rounds_about(ON, rounds, [])

    assert (before, after.on) == (980.0, ON + 30 * DAY)


@pytest.mark.parametrize(
    ("rounds", "others"),
    [
        ([-500, 30], []),  # too long before
        ([-20, 130], []),  # too long after
        ([-20, 30], [ON - 10 * DAY, ON + 10 * DAY]),  # other cleanings between
        ([-20, 30], [ON, ON]),  # another on the same day
    ],
)
def test_what_does_not_tell_of_the_cleaning_is_left_out(rounds, others):
    before, after = rounds_about(ON, [round_on(ON + days * DAY) for days in rounds], others)

    assert before is None or after is None


def test_a_cleaning_gives_after_over_before_and_is_held_to_what_was_expected():
    one = cleaned(measured=400.0)

    assert (one.gave, one.was_to_give, one.ratio) == (1.6, (2.0, 1.0, 4.0), 0.8)
    assert one.is_within
    assert not cleaned(measured=200.0).is_within


def test_few_are_counted_but_nothing_is_said_of_them():
    (found,) = summaries([cleaned(400.0)] * (FEWEST - 1), by_crew=True, by_method=False)

    assert (found.told, found.within, found.ratio) == (FEWEST - 1, FEWEST - 1, None)
    assert "too few" in found.says


def test_a_crew_is_spoken_of_by_the_mean_and_its_range():
    shares = [exp(x) for x in (-0.3, -0.2, -0.1, -0.2, -0.2)]

    (found,) = summaries([cleaned(500.0 * share) for share in shares], by_crew=True, by_method=False)

    assert found.ratio == pytest.approx(exp(-0.2))
    assert (found.low, found.high) == pytest.approx(
        (exp(-0.2 - 1.2816 * 0.0316228), exp(-0.2 + 1.2816 * 0.0316228))
    )
    assert found.says == "gives less than expected"


def test_cleanings_without_rounds_are_counted_as_not_told_from():
    rows = [cleaned(), Cleaned(ON, "Vacuum sweeping", "North", "Yard", 2, None, None)]

    (found,) = summaries(rows, by_crew=True, by_method=True)

    assert (found.cleanings, found.told) == (2, 1)


def test_groups_are_by_crew_by_method_or_by_both():
    rows = [cleaned(crew="North"), cleaned(crew="South"), cleaned(crew="South", method="Broom")]

    counts = [
        {(s.crew, s.method): s.told for s in summaries(rows, by_crew=crew, by_method=method)}
        for crew, method in ((True, False), (False, True), (True, True))
    ]

    assert counts == [
        {("South", ""): 2, ("North", ""): 1},
        {("", "Vacuum sweeping"): 2, ("", "Broom"): 1},
        {("South", "Broom"): 1, ("South", "Vacuum sweeping"): 1, ("North", "Vacuum sweeping"): 1},
    ]
