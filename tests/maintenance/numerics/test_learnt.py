"""Fleet parameters in plain quantities."""

import numpy as np
import pytest

from maintenance.numerics.api import fit_fleet, prior_fit
from maintenance.numerics.learnt import learnt_parameters
from maintenance.numerics.parameters import PRIOR_MEAN, to_params
from maintenance.numerics.simulate import draw_plan, simulate, to_histories


def test_without_records_what_is_believed_now_is_what_was_believed_before():
    for learnt in learnt_parameters(prior_fit()):
        assert learnt.now == learnt.before
        assert learnt.told == 0.0
        assert learnt.source


def test_records_narrow_what_they_speak_of():
    rng = np.random.default_rng(3)
    histories = to_histories(simulate(rng, draw_plan(rng, 120, 7), to_params(PRIOR_MEAN)))

    learnt = {(one.head, one.key): one for one in learnt_parameters(fit_fleet(histories))}

    assert learnt["sd_spot", ""].told > 0.5
    kinds = {history.surface_type for history in histories}
    told = [one.told for (head, key), one in learnt.items() if head == "mu_b" and key in kinds]
    untold = [one.told for (head, key), one in learnt.items() if head == "mu_b" and key not in kinds]
    assert min(told) > 0.3
    assert max(untold) == pytest.approx(0.0, abs=0.02)


def test_ranges_are_nested_around_the_median():
    for learnt in learnt_parameters(prior_fit()):
        e = learnt.now
        assert e.lo95 < e.lo80 < e.median < e.hi80 < e.hi95
