"""What the page on forecasts says of the last update of the model, which a night may have kept."""

from datetime import UTC, datetime

from core.calc.jobs import JobState
from maintenance.models import PortfolioFit
from maintenance.presentation.wording import fit_sentence

LEARNT = datetime(2026, 11, 20, 2, 5, tzinfo=UTC)


def test_a_fit_that_nights_kept_says_when_the_model_learnt():
    kept = PortfolioFit(
        state=JobState.DONE,
        surfaces=12,
        tests=52,
        fitted_at=LEARNT,
        finished_at=datetime(2026, 11, 27, tzinfo=UTC),
    )

    said = fit_sentence(kept).replace("\N{NO-BREAK SPACE}", " ")

    assert "52 tests on 12 surfaces. That was on 20 Nov 2026, 02:05 UTC. It learns again" in said


def test_without_a_time_it_says_none():
    assert "That was" not in fit_sentence(PortfolioFit(state=JobState.DONE, surfaces=1, tests=1))
