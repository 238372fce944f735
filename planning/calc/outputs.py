"""How fast a crew is with a way of cleaning: from the hours it told, the fewer the nearer to what the firm entered."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from planning.calc.work_orders import SETTING_UP_MIN

# Judgements of ours, no source.
ENTERED_COUNTS = 4.0  # the output that was entered weighs as much as so many jobs
FEWEST_JOBS = 3  # below which the output that was entered holds
NEWEST_JOBS = 30  # of older ones crew and machine may have been others
LEAST_SHARE = 0.25  # of the time told is work, however long setting up usually takes
Z80 = 1.2816  # of the normal distribution, for an 80 % range


@dataclass(frozen=True, slots=True)
class Job:
    """A cleaning with the minutes it took, setting up included."""

    area_m2: float
    taken_min: int

    @property
    def output_m2_h(self) -> float:
        """Area an hour, without setting up."""
        return 60.0 * self.area_m2 / max(self.taken_min - SETTING_UP_MIN, LEAST_SHARE * self.taken_min)


@dataclass(frozen=True, slots=True)
class Output:
    """m²/h to plan with. low, high: an 80 % range of a single job's; None below FEWEST_JOBS."""

    m2_h: float
    jobs: int
    low_m2_h: float | None = None
    high_m2_h: float | None = None


def learnt_output(entered_m2_h: float, jobs: Sequence[Job]) -> Output:
    """The geometric mean of the jobs, newest first, with what was entered counted as ENTERED_COUNTS of them.

    Source: shrinkage of a normal mean with known ratio of variances, on logarithms (any textbook of empirical Bayes).
    """
    logs = [log(job.output_m2_h) for job in jobs[:NEWEST_JOBS]]
    if len(logs) < FEWEST_JOBS:
        return Output(entered_m2_h, len(logs))
    middle = (ENTERED_COUNTS * log(entered_m2_h) + sum(logs)) / (ENTERED_COUNTS + len(logs))
    own = sum(logs) / len(logs)
    spread = sqrt(sum((x - own) ** 2 for x in logs) / (len(logs) - 1))
    return Output(exp(middle), len(logs), exp(own - Z80 * spread), exp(own + Z80 * spread))
