"""Words beside advice and fits."""

import pytest

from core.calc.jobs import JobState
from maintenance.models import PortfolioFit
from maintenance.templatetags.advice import fit_note, years


@pytest.mark.parametrize(("count", "shown"), [(None, "over 10"), (0.0, "0"), (4.26, "4.26")])
def test_years_beyond_the_forecast_are_not_a_number(count, shown):
    assert years(count) == shown


@pytest.mark.parametrize(
    ("fit", "note"),
    [
        ({"state": JobState.DONE, "converged": True}, "settled"),
        ({"state": JobState.DONE, "converged": False, "message": "too few"}, "did not settle: too few"),
        ({"state": JobState.FAILED, "error": "no records"}, "no records"),
        ({"state": JobState.RUNNING}, ""),
    ],
)
def test_a_fit_says_what_became_of_it(fit, note):
    assert fit_note(PortfolioFit(**fit)) == note
