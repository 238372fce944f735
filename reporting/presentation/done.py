"""What was done to a surface and what it gave, in sentences for its owner."""

from collections.abc import Iterable
from itertools import islice

from core.calc.format import day, figure
from maintenance.calc.forecast_payload import GainOfCleaning
from maintenance.calc.vocabulary import RecordKind
from reporting.calc.parts import RecordLine

SHOWN = 5
NO_GAIN = 1.05  # times the rate, below which tests show none worth the word
NOT_KNOWN = "What it gave is not known yet: no test was made after it."


def done_sentences(lines: Iterable[RecordLine]) -> tuple[str, ...]:
    """The latest cleanings that count, the newest first."""
    cleanings = (line for line in lines if line.kind is RecordKind.CLEANING and line.is_active)
    return tuple(f"{day(line.on)}: {line.title}. {gave(line.gain)}" for line in islice(cleanings, SHOWN))


def gave(gain: GainOfCleaning | None) -> str:
    """What a cleaning gave."""
    if gain is None:
        return NOT_KNOWN
    measured = gain.measured_factor
    if measured:
        if measured < NO_GAIN:
            return "Tests before and after show no gain."
        return f"Tests before and after: rain soaks in {figure(measured)} times as fast as before it."
    factor = gain.factor
    return (
        f"It is estimated that rain soaked in {figure(factor.median)} times as fast after it "
        f"(80 % range {figure(factor.lo80)} to {figure(factor.hi80)})."
    )
