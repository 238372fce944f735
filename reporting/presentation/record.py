"""A line of a surface's record in words, with its numbers set as numbers."""

from django.utils.html import format_html
from django.utils.safestring import SafeString

from core.calc.format import counted, figure, format_rate, percent
from maintenance.calc.forecast_payload import GainOfCleaning
from maintenance.calc.vocabulary import RecordKind
from qa.templatetags.measures import rate
from reporting.calc.parts import RecordLine
from reporting.presentation.words import money_words


def outcome_words(line: RecordLine, units: str) -> SafeString | str:
    """What follows the name of a line: what a round or an inspection showed, or how a cleaning was done."""
    if line.is_round:
        return _of_round(line, units)
    return _of_cleaning(line, units) if line.kind is RecordKind.CLEANING else f": {line.detail}"


def outcome_text(line: RecordLine, units: str) -> str:
    """The same as plain text, for paper."""
    if line.is_round and line.spots:
        return f": {format_rate(line.mean_mm_h, units)} geometric mean of {_spots(line)}"
    return str(outcome_words(line, units))


def _of_round(line: RecordLine, units: str) -> SafeString | str:
    if line.spots:
        return format_html(": {} geometric mean of {}", rate(line.mean_mm_h, units), _spots(line))
    others, left_out = ", ".join(line.others), _left_out(line)
    said = f"{others}, no rate" if others else ("no test counts" if left_out else "no tests yet")
    return f": {said}; {left_out}" if left_out else f": {said}"


def _spots(line: RecordLine) -> str:
    """How many spots a mean is of, how they were measured, and what else was."""
    rest = f"{line.spots} spot{'' if line.spots == 1 else 's'}"
    if line.method:
        rest += f" by {line.method}"
    if line.bounded:
        rest += ", some are limits (at most or at least)"
    if line.others:
        rest += f"; also {', '.join(line.others)}"
    return f"{rest}; {_left_out(line)}" if line.left_out else rest


def _left_out(line: RecordLine) -> str:
    return f"{counted(line.left_out, 'test')} left out, not by the method" if line.left_out else ""


def _of_cleaning(line: RecordLine, units: str) -> str:
    said = f", {percent(line.share_of_area)} of the area" if line.share_of_area < 1 else ""
    said += f", {line.wetness}"
    said += "".join(f", {detail.in_units(units)}" for detail in line.details)
    return f"{said}, {money_words(line.cost)}" if line.cost and line.cost.amount else said


def gain_in_short(gain: GainOfCleaning) -> str:
    """How many times the rate it gave: by the tests where they were made on both sides, else by the model."""
    if gain.measured_factor:
        return f"{figure(gain.measured_factor)} times the rate by the tests"
    return f"about {figure(gain.factor.median)} times the rate"


def gain_words(gain: GainOfCleaning) -> str:
    """What a cleaning gave, by the tests on both sides and by the model."""
    factor = gain.factor
    span = f"80 % range {figure(factor.lo80)} to {figure(factor.hi80)}"
    model = f"Model: {figure(factor.median)} times ({span})."
    if not gain.measured_factor:
        return model
    return f"Tests before and after: {figure(gain.measured_factor)} times the rate. {model}"
