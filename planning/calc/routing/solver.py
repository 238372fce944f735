"""The routing solver (PyVRP) as every plan and every published instance is solved with it."""

import pyvrp
from pyvrp.stop import MaxIterations, StoppingCriterion

PARAMS = (
    pyvrp.SolveParams()
)  # as they come: changed ones gained nothing on a month of ours or published instances


def solve(
    data: pyvrp.ProblemData, stop: StoppingCriterion, seed: int, start: pyvrp.Solution | None = None
) -> pyvrp.Solution:
    """The best solution found. stop: plans give iterations, so that a seed gives one plan; benchmarks give time."""
    found = pyvrp.solve(data, stop, seed=seed, collect_stats=False, params=PARAMS, initial_solution=start)
    return found.best


def iterations(many: int) -> StoppingCriterion:
    """A limit that no load on the machine can move."""
    return MaxIterations(many)
