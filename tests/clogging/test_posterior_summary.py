"""Portfolio parameters in plain quantities."""

import numpy as np
import pytest

from clogging.api import fit_portfolio, prior_fit
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.posterior_summary import summarise_posterior
from clogging.simulate import draw_plan, simulate, to_histories


def test_without_records_what_is_believed_now_is_what_was_believed_before():
    for summary in summarise_posterior(prior_fit()):
        assert summary.now == summary.before
        assert summary.sd_reduction == 0.0
        assert summary.source


def test_records_narrow_what_they_speak_of():
    rng = np.random.default_rng(3)
    histories = to_histories(simulate(rng, draw_plan(rng, 120, 7), to_params(PRIOR_MEAN)))

    summary = {(one.head, one.key): one for one in summarise_posterior(fit_portfolio(histories))}

    assert summary["sd_spot", ""].sd_reduction > 0.5
    kinds = {history.surface_type for history in histories}
    sd_reduction = [
        one.sd_reduction for (head, key), one in summary.items() if head == "mu_b" and key in kinds
    ]
    unnarrowed = [
        one.sd_reduction for (head, key), one in summary.items() if head == "mu_b" and key not in kinds
    ]
    assert min(sd_reduction) > 0.3
    assert max(unnarrowed) == pytest.approx(0.0, abs=0.02)


def test_ranges_are_nested_around_the_median():
    for summary in summarise_posterior(prior_fit()):
        e = summary.now
        assert e.lo95 < e.lo80 < e.median < e.hi80 < e.hi95
