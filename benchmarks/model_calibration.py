"""Are the forecast ranges honest, and how much better is the model than what people do today?

    python -m benchmarks.model_calibration [--portfolios 400]

Invented portfolios with parameters drawn from the priors, last round hidden: coverage of the ranges by size of
portfolio; then scores of the hidden rounds against a straight line through each surface's own log rates, the last value
carried forward, and a fixed interval. Worlds of other shapes: benchmarks/model_shapes.py.
"""

from __future__ import annotations

import argparse

import numpy as np

from clogging.calibration_study import Rehearsal, rehearse
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.scores import coverage

LEVELS = (0.5, 0.8, 0.9, 0.95)


def line(name: str, runs: list[Rehearsal]) -> str:
    """Coverage of the true rate's ranges with the standard error that differs from portfolio to portfolio."""
    pits = np.concatenate([run.rate_pits for run in runs])
    cells = []
    for level in LEVELS:
        by_portfolio = np.array([coverage(run.rate_pits, level) for run in runs])
        error = by_portfolio.std() / np.sqrt(len(runs))
        cells.append(f"{100 * coverage(pits, level):6.1f} ±{100 * error:3.1f}")
    return f"{name:<26}{len(runs):>7}  " + "  ".join(cells)


def print_coverage(portfolios: int) -> None:
    """Ranges by size of portfolio."""
    print(
        f"{'surfaces in the portfolio':<26}{'portfolios':>7}  "
        + "  ".join(f"{100 * level:>6.0f} %   " for level in LEVELS)
    )
    for n_surfaces, divisor in ((1, 1), (5, 1), (20, 2), (100, 8), (500, 40)):
        count = max(4, portfolios // divisor)
        runs = [rehearse(np.random.default_rng([n_surfaces, 1, i]), n_surfaces) for i in range(count)]
        print(line(str(n_surfaces), runs), flush=True)


def print_scores(portfolios: int) -> None:
    """Scores of the hidden rounds with usual parameters, 100 surfaces a portfolio."""
    usual = to_params(PRIOR_MEAN)
    count = max(4, portfolios // 20)
    runs = [rehearse(np.random.default_rng([3, i]), 100, params=usual, naive=True) for i in range(count)]
    print("\n" + line("usual parameters", runs), flush=True)
    for rule in runs[0].crps:
        log_score = np.mean([run.log_scores[rule].mean() for run in runs])
        crps = np.mean([run.crps[rule].mean() for run in runs])
        gain = np.mean([(run.log_scores["model"] - run.log_scores[rule]).mean() for run in runs])
        print(
            f"  {rule:<16} log score {log_score:7.3f}  crps {crps:6.3f}  model better by {gain:6.3f} nats a round"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument(
        "--portfolios", type=int, default=400, help="portfolios of five surfaces; larger ones are fewer"
    )
    portfolios = parser.parse_args().portfolios
    print_coverage(portfolios)
    print_scores(portfolios)


if __name__ == "__main__":
    main()
