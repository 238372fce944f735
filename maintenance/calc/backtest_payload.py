"""What is kept of how a firm's forecasts did on rounds that were hidden from them."""

from dataclasses import dataclass
from typing import ClassVar

from core.calc.payload import Payload


@dataclass(frozen=True, slots=True)
class ForecasterScores:
    """How one way of forecasting did, averaged over surfaces.

    log_score: higher is better; crps: in log units, lower is better; miss_factor: the middle miss, as a factor
    inside80: share of rounds in its 80 % range
    """

    name: str
    log_score: float
    crps: float
    miss_factor: float
    inside80: float


@dataclass(frozen=True, slots=True)
class BacktestScores(Payload):
    """surfaces: with a hidden round; forecasters: the model first."""

    SCHEMA: ClassVar[int] = 1

    surfaces: int
    forecasters: tuple[ForecasterScores, ...]
