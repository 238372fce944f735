"""What is known of many surfaces, and what may become of them: two views of one posterior."""

import numpy as np
import pytest

from clogging import api, priors

ROUND = api.RoundEvent(1.0, "ring", (api.SpotTest(3000.0), api.SpotTest(2500.0), api.SpotTest(3500.0)))
LATER = ROUND._replace(t_yr=3.0, tests=(api.SpotTest(900.0), api.SpotTest(1100.0)))
HISTORIES = [
    api.SurfaceHistory("picp", api.Conditions(run_on_ratio=0.5), (ROUND, LATER)),
    api.SurfaceHistory("clay", api.Conditions(bare_soil=True), (ROUND,)),
    api.SurfaceHistory("gravel", api.Conditions()),
]
NOW = [3.2, 1.5, 0.5]
VACUUM, RELAY = api.CLEANING_METHODS.index("vacuum"), api.CLEANING_METHODS.index("relay")


@pytest.fixture(scope="module")
def views():
    fit = api.fit_portfolio(HISTORIES[:2])
    return fit, *api.known_and_drawn(HISTORIES, fit, now_yr=NOW, n_draws=3000, rng=np.random.default_rng(1))


def normals(rows, n, seed=2):
    return np.random.default_rng(seed).normal(size=(rows, n))


def by_surface(drawn):
    return drawn.state.reshape(3, len(HISTORIES), -1)


def test_the_median_known_is_that_of_the_forecast_of_each_surface(views):
    fit, known, _ = views

    seen = [
        api.forecast_surface(h, fit, now_yr=now, limit_mm_h=250.0)
        for h, now in zip(HISTORIES, NOW, strict=True)
    ]

    expected = [np.log(one.rate_now_mm_h.median) for one in seen]
    assert known.mean[0] == pytest.approx(expected, abs=0.08)


def test_draws_scatter_as_is_known_today_and_two_years_on(views):
    _, known, drawn = views

    later = api.let_pass(known, 1.0), api.let_pass_truly(drawn, 1.0, normals(1, drawn.state.shape[1])[0])

    assert by_surface(drawn).mean(-1) == pytest.approx(known.mean, abs=0.06)
    assert by_surface(drawn)[0].std(-1) == pytest.approx(known.sd, rel=0.08)
    assert by_surface(later[1])[0].mean(-1)[:2] == pytest.approx(later[0].mean[0, :2], abs=0.2)


@pytest.mark.parametrize("method", [VACUUM, RELAY])
def test_a_cleaning_does_to_what_is_known_what_it_does_on_average_to_true_surfaces(views, method):
    _, known, drawn = views
    n = drawn.state.shape[1]

    after = api.cleaned(known, np.full(3, method))
    truly = api.cleaned_truly(drawn, np.full(n, method), normals(2, n))

    assert by_surface(truly)[0].mean(-1) == pytest.approx(after.mean[0], abs=0.1)
    assert by_surface(truly)[0].std(-1)[:2] == pytest.approx(after.sd[:2], rel=0.15)


def test_no_cleaning_changes_nothing(views):
    _, known, drawn = views
    n = drawn.state.shape[1]

    assert api.cleaned(known, np.full(3, -1)) is known
    assert np.array_equal(api.cleaned_truly(drawn, np.full(n, -1), normals(2, n)).state, drawn.state)


def test_a_round_of_tests_is_weighed_as_the_normal_law_has_it(views):
    _, known, _ = views
    noise = known.traits.day_var + known.traits.spot_var / 3

    after = api.tested(known, known.mean[0] + 1.0, 3, np.array([True, True, False]))

    weight = known.cov[0, 0] / (known.cov[0, 0] + noise)
    assert (after.mean[0] - known.mean[0]) == pytest.approx(weight * [1, 1, 0])
    assert after.cov[0, 0] == pytest.approx(known.cov[0, 0] * (1 - weight * [1, 1, 0]))


def test_a_reading_scatters_by_day_and_spot(views):
    _, _, drawn = views
    n = drawn.state.shape[1]

    away = api.read_truly(drawn, 3, normals(1, n)[0]) - drawn.state[0]

    assert away.std() == pytest.approx(
        np.sqrt((drawn.traits.day_var + drawn.traits.spot_var / 3).mean()), rel=0.05
    )


def test_stopping_the_source_slows_only_the_surfaces_where_it_is_done(views):
    _, known, drawn = views
    n = drawn.state.shape[1]

    after = api.source_stopped(known, np.array([True, False, False]))
    truly = api.source_stopped_truly(drawn, np.repeat([True, False, False], n // 3), normals(1, n)[0])

    assert after.mean[2, 0] == pytest.approx(known.mean[2, 0] * known.traits.source_factor[0])
    assert np.array_equal(after.mean[:, 1:], known.mean[:, 1:])
    assert by_surface(truly)[2].mean(-1) == pytest.approx(after.mean[2], abs=0.02)


def test_a_sealed_surface_falls_no_further(views):
    _, known, drawn = views
    n = drawn.state.shape[1]

    assert api.let_pass(known, 90.0).mean[0].min() >= np.log(priors.SEALED_MM_H)
    assert api.let_pass_truly(drawn, 90.0, normals(1, n)[0]).state[0].min() >= np.log(priors.SEALED_MM_H)


def test_the_chance_of_being_below_grows_while_nothing_is_done(views):
    _, known, _ = views
    limit = np.full(3, np.log(250.0))

    chances = [known.chance_below(limit, years)[0] for years in (0.0, 1.0, 3.0)]

    assert chances == sorted(chances)
    assert known.chance_below(limit, 1.0) == pytest.approx(api.let_pass(known, 1.0).chance_below(limit))


def test_at_least_one_draw_is_asked_for():
    with pytest.raises(ValueError, match="At least one draw a surface is needed, got 0"):
        api.known_and_drawn(HISTORIES, api.prior_fit(), now_yr=NOW, n_draws=0, rng=np.random.default_rng(1))
