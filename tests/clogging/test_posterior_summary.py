"""Portfolio parameters in plain quantities."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit, logit
from scipy.stats import norm

from clogging import priors
from clogging.api import fit_portfolio, prior_fit, shape_support
from clogging.parameters import INDEX, PRIOR_MEAN, to_params
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


# Where each quantile of an Estimate stands, in the order of its fields.
LEVELS = {"median": 0.5, "lo80": 0.1, "hi80": 0.9, "lo95": 0.025, "hi95": 0.975}


def percent(decline):
    """Percent of a rate lost in a year, from the decline of its log."""
    return 100.0 * (1.0 - np.exp(-decline))


def on_scale(belief):
    """Quantiles of the belief about a scatter, which is normal on the log scale."""
    return lambda p: np.exp(norm.ppf(p, np.log(belief.mean), belief.sd))


def on_share(belief):
    return lambda p: 100.0 * expit(norm.ppf(p, logit(belief.mean), belief.sd))


def believed():
    """Quantiles of every parameter in plain units, by head and key: each written from its statement in the priors."""
    scales = {name: on_scale(belief) for name, belief in priors.SCALES.items()}
    found = {
        ("corr", ""): lambda p: np.tanh(
            norm.ppf(p, np.arctanh(priors.START_DECLINE_CORR.mean), priors.START_DECLINE_CORR.sd)
        ),
        ("gamma", ""): on_share(priors.LASTING_SHARE),
        ("location_share", ""): on_share(priors.LOCATION_SHARE),
        ("tau_b", ""): lambda p: np.exp(scales["as_new_scatter"](p)),
        ("tau_lam", ""): lambda p: percent(scales["decline_scatter"](p)),
        ("sd_day", ""): lambda p: np.exp(scales["day_scatter"](p)),
        ("sd_spot", ""): lambda p: np.exp(scales["spot_scatter"](p)),
    }
    low, high = priors.KAPPA_RANGE
    for key, kind in priors.SURFACES.items():
        found["mu_b", key] = lambda p, k=kind: np.exp(norm.ppf(p, np.log(k.as_new_mm_h), k.as_new_sd))
        found["mu_lam", key] = lambda p, k=kind: percent(norm.ppf(p, k.decline, k.decline_sd))
        found["kappa", key] = lambda p: (
            low
            + (high - low)
            * expit(
                norm.ppf(
                    p,
                    logit((priors.SHAPE.mean - low) / (high - low)),
                    np.hypot(priors.SHAPE.sd, priors.SHAPE_OF_KIND_SD),
                )
            )
        )
    for key, belief in priors.CONDITIONS.items():
        found["beta", key] = lambda p, b=belief: percent(norm.ppf(p, b.mean, b.sd))
    for key, method in priors.CLEANINGS.items():
        found["rho", key] = lambda p, m=method: norm.ppf(p, m.share, m.share_sd)
        found["wet", key] = lambda p, m=method: norm.ppf(p, m.wet_penalty, m.wet_penalty_sd)
    for key, offset in priors.METHODS.items():
        found["offset", key] = lambda p, o=offset: np.exp(norm.ppf(p, o.offset, o.offset_sd))
    for key, change in priors.SOURCES.items():
        found["source_factor", key] = lambda p, c=change: np.exp(norm.ppf(p, np.log(c.factor), c.factor_sd))
    return found


def test_what_was_believed_is_told_in_plain_units_as_the_priors_state_it():
    """Quantiles by scipy.stats; a monotone change of scale carries them over."""
    expected = believed()

    told = {(one.head, one.key): one.before for one in summarise_posterior(prior_fit())}

    assert told.keys() == expected.keys()
    for name, quantile in expected.items():
        wanted = [float(quantile(p)) for p in LEVELS.values()]
        assert [getattr(told[name], level) for level in LEVELS] == pytest.approx(wanted, rel=1e-9), name


def fit_with(**entries):
    """The fit without records, with some entries of its vector at another mean and sd."""
    fit = prior_fit()
    mode, covariance = fit.mode.copy(), fit.covariance.copy()
    for name, (mean, sd) in entries.items():
        at = INDEX[name.replace("__", ":")]
        mode[at], covariance[at, at] = mean, sd**2
    return replace(fit, mode=mode, covariance=covariance)


def summary_of(fit, head, key=""):
    return next(one for one in summarise_posterior(fit) if (one.head, one.key) == (head, key))


def test_what_the_records_taught_is_told_in_the_same_units():
    """A rate as new of e^9 mm/h give or take 0.1, by hand: e^9 = 8103.08, e^(9 + 0.1 * 1.959964) = 9857.4."""
    told = summary_of(fit_with(mu_b__picp=(9.0, 0.1)), "mu_b", "picp")

    assert told.now.median == pytest.approx(8103.08, abs=0.01)
    assert told.now.hi95 == pytest.approx(9857.4, rel=1e-4)
    assert told.before.median == pytest.approx(priors.SURFACES["picp"].as_new_mm_h)


@pytest.mark.parametrize(("part_left", "narrowed"), [(0.25, 0.75), (0.5, 0.5), (1.0, 0.0), (1.4, 0.0)])
def test_the_part_of_the_doubt_that_records_took_away_is_counted_on_the_parameters_own_scale(
    part_left, narrowed
):
    sd = priors.CLEANINGS["vacuum"].share_sd

    told = summary_of(fit_with(rho__vacuum=(0.4, part_left * sd)), "rho", "vacuum")

    assert told.sd_reduction == pytest.approx(narrowed)


def test_the_shape_of_a_kind_joins_what_all_kinds_share_and_its_own_with_what_they_have_in_common():
    fit = fit_with(kappa=(0.2, 0.3), kappa_kind__picp=(0.1, 0.4))
    at = [INDEX["kappa"], INDEX["kappa_kind:picp"]]
    fit.covariance[at[0], at[1]] = fit.covariance[at[1], at[0]] = -0.06
    low, high = priors.KAPPA_RANGE

    told = summary_of(fit, "kappa", "picp").now

    sd = np.sqrt(0.09 + 0.16 - 2 * 0.06)
    wanted = [low + (high - low) * expit(norm.ppf(p, 0.3, sd)) for p in LEVELS.values()]
    assert [getattr(told, level) for level in LEVELS] == pytest.approx(wanted, rel=1e-9)


def logit_of(kappa):
    low, high = priors.KAPPA_RANGE
    return float(logit((kappa - low) / (high - low)))


SHAPE_CASES = [(0.5, 0.3), (0.5, 0.05), (-0.3, 0.2), (0.0, 0.02), (0.05, 0.4), (-0.12, 0.1)]


@pytest.mark.parametrize(("kappa", "sd"), SHAPE_CASES)
def test_chances_of_a_shape_and_their_odds_are_those_of_the_normal(kappa, sd):
    """Slows above 0.1 a year, even within, speeds up below; Bayes factors by hand from odds now over odds before."""
    fit = fit_with(kappa=(logit_of(kappa), sd), kappa_kind__clay=(0.0, 0.0))

    support = next(one for one in shape_support(fit) if one.surface_type == "clay")

    def chances(mean, spread):
        below = norm.cdf(logit_of(-0.1), mean, spread)
        up_to = norm.cdf(logit_of(0.1), mean, spread)
        return np.array([1.0 - up_to, up_to - below, below])

    now = chances(logit_of(kappa), sd)
    before = chances(logit_of(priors.SHAPE.mean), np.hypot(priors.SHAPE.sd, priors.SHAPE_OF_KIND_SD))
    assert [support.slows, support.even, support.speeds_up] == pytest.approx(now, abs=1e-12)
    assert support.before == pytest.approx(before)
    kept = np.clip(now, 1e-6, 1.0 - 1e-6)
    factors = (kept / (1.0 - kept)) / (before / (1.0 - before))
    assert support.shape == ("slows", "even", "speeds up")[int(np.argmax(factors))]
    assert support.times == pytest.approx(factors.max())


@pytest.mark.parametrize("sd", [0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1, 0.05])
def test_odds_are_put_in_the_words_of_kass_and_raftery(sd):
    """J. Am. Stat. Assoc. 90:773-795, 3.2: 1 to 3 not worth a mention, to 20 positive, to 150 strong, beyond very."""
    support = shape_support(fit_with(kappa=(logit_of(0.6), sd), kappa_kind__picp=(0.0, 0.0)))[0]

    bounds = [(3.0, "hardly"), (20.0, "somewhat"), (150.0, "strongly"), (np.inf, "very strongly")]
    assert support.surface_type == "picp"
    assert support.strength == next(word for most, word in bounds if support.times < most)
