"""Published routing instances by the plan's solver: cost over the best known one, after so much CPU time.

    python -m benchmarks.published_routes FOLDER [--names VRPTW-R1_10_1 ...] [--seconds 60] [--seed 1]

FOLDER holds pairs NAME.vrp and NAME.sol in the VRPLIB form, for instance those of the public repository PyVRP/Instances
(VRPTW after Gehring and Homberger with 1,000 clients, and prize-collecting variants of them); none is part of this
project. Distances and times are taken as there: scaled by ten and cut off. The best known cost is counted anew from the
routes of the .sol file. The solver and its parameters are those of `planning.calc.routing.solver`.
"""

import argparse
from pathlib import Path
from time import process_time

import pyvrp
from pyvrp.stop import StoppingCriterion

from planning.calc.routing import solver

USUAL = ("VRPTW-R1_10_1", "VRPTW-RC1_10_5", "PCVRPTW-RC2_10_2")


class CpuSeconds(StoppingCriterion):
    """Stops once this process has used so much CPU time, which other work on the machine does not lengthen."""

    def __init__(self, seconds: float) -> None:
        self.until = process_time() + seconds

    def __call__(self, best_cost: int) -> bool:
        """Whether to stop."""
        return process_time() >= self.until


def read(folder: Path, name: str) -> tuple[pyvrp.ProblemData, pyvrp.Solution]:
    """An instance and its best known solution. Raises FileNotFoundError with the file that is missing."""
    for kind in ("vrp", "sol"):
        if not (path := folder / f"{name}.{kind}").is_file():
            raise FileNotFoundError(f"{path} is missing; give a folder that holds {name}.vrp and {name}.sol.")
    data = pyvrp.read(folder / f"{name}.vrp", round_func="dimacs")
    return data, pyvrp.read_solution(folder / f"{name}.sol", data)


def cost_of(solution: pyvrp.Solution) -> int:
    """Distance, and the prizes that were not collected. Raises ValueError for a solution that does not hold."""
    if not solution.is_feasible():
        raise ValueError("A solution does not keep to the instance: it was read by another convention.")
    return int(solution.distance() + solution.uncollected_prizes())


def line(folder: Path, name: str, seconds: float, seed: int) -> str:
    """Name, seed, seconds of CPU, cost, best known cost, ratio."""
    data, known = read(folder, name)
    begun, best_known = process_time(), cost_of(known)
    cost = cost_of(solver.solve(data, CpuSeconds(seconds), seed))
    used = process_time() - begun
    return f"{name:<20}{seed:6}{used:8.1f}{cost:12}{best_known:12}{cost / best_known:9.4f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--names", nargs="*", default=USUAL)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    if options.folder is None:
        print("Not run: name a folder with published instances; none is part of this project.")
        return
    print(f"{'instance':<20}{'seed':>6}{'CPU s':>8}{'cost':>12}{'best known':>12}{'ratio':>9}")
    for name in options.names:
        print(line(options.folder, name, options.seconds, options.seed), flush=True)


if __name__ == "__main__":
    main()
