"""Words beside advice and fits."""

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from core.calc.jobs import JobState
from maintenance.models import PortfolioFit
from maintenance.templatetags.advice import fit_note, status, years


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


def test_the_state_of_a_row_is_told_as_everywhere():
    told = [status(state) for state in ("watch", "watch", "draining")]

    assert told == [
        render_to_string("parts/_status.html", {"state": one}) for one in ("watch", "watch", "draining")
    ]
    assert status(None) == status("not_tested")


def test_the_state_of_a_row_is_told_in_the_language_of_each_reader():
    english = status("watch")
    with translation.override("fr"):
        french = status("watch")

    assert "watch" in english
    assert french != english
    assert status("watch") == english
