"""What was done to a surface and what it gave, in sentences for its owner."""

from collections.abc import Iterable
from itertools import islice

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import day, figure, labelled
from maintenance.calc.forecast_payload import GainOfCleaning
from maintenance.calc.vocabulary import RecordKind
from reporting.calc.parts import RecordLine

SHOWN = 5
NO_GAIN = 1.05  # times the rate, below which tests show none worth the word
NOT_KNOWN = gettext_noop("What it gave is not known yet: no test was made after it.")


def done_sentences(lines: Iterable[RecordLine]) -> tuple[str, ...]:
    """The latest cleanings that count, the newest first."""
    cleanings = (line for line in lines if line.kind is RecordKind.CLEANING and line.is_active)
    return tuple(
        labelled(day(line.on), f"{line.title}. {gave(line.gain)}") for line in islice(cleanings, SHOWN)
    )


def gave(gain: GainOfCleaning | None) -> str:
    """What a cleaning gave."""
    if gain is None:
        return _(NOT_KNOWN)
    measured = gain.measured_factor
    if measured:
        if measured < NO_GAIN:
            return _("Tests before and after show no gain.")
        said = _("Tests before and after: rain soaks in {times} times as fast as before it.")
        return said.format(times=figure(measured))
    factor = gain.factor
    said = _(
        "It is estimated that rain soaked in {times} times as fast after it (80 % range {low} to {high})."
    )
    return said.format(times=figure(factor.median), low=figure(factor.lo80), high=figure(factor.hi80))
