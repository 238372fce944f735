"""A line of a surface's record in words, with its numbers set as numbers."""

from django.utils.html import escape, format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import figure, format_rate, labelled, percent
from maintenance.calc.forecast_payload import GainOfCleaning
from maintenance.calc.vocabulary import RecordKind
from qa.templatetags.measures import rate
from reporting.calc.parts import RecordLine
from reporting.presentation.words import money_words


def outcome_words(line: RecordLine, units: str) -> SafeString | str:
    """What follows the name of a line: what a round or an inspection showed, or how a cleaning was done."""
    if line.is_round:
        return _of_round(line, units)
    return _of_cleaning(line, units) if line.kind is RecordKind.CLEANING else labelled("", line.detail)


def outcome_text(line: RecordLine, units: str) -> str:
    """The same as plain text, for paper."""
    if line.is_round and line.spots:
        return labelled("", _mean_of(line).format(format_rate(line.mean_mm_h, units)))
    return str(outcome_words(line, units))


def _of_round(line: RecordLine, units: str) -> SafeString | str:
    if line.spots:
        return format_html(
            "{}{}", labelled("", ""), format_html(escape(_mean_of(line)), rate(line.mean_mm_h, units))
        )
    others, left_out = ", ".join(line.others), _left_out(line)
    said = _no_tests(left_out)
    if others:
        said = _("{methods}, no rate").format(methods=others)
    return labelled("", f"{said}; {left_out}" if left_out else said)


def _no_tests(left_out: str) -> str:
    return _("no test counts") if left_out else _("no tests yet")


def _mean_of(line: RecordLine) -> str:
    """A mean with one hole for its rate: of how many spots, how they were measured, and what else was."""
    count = line.spots
    if line.method:
        said = ngettext(
            "{rate} geometric mean of {count} spot by {method}",
            "{rate} geometric mean of {count} spots by {method}",
            count,
        )
    else:
        said = ngettext(
            "{rate} geometric mean of {count} spot", "{rate} geometric mean of {count} spots", count
        )
    said = said.format(rate="{}", count=count, method=_no_hole(line.method))
    if line.bounded:
        said += _(", some are limits (at most or at least)")
    if line.others:
        said += _("; also {methods}").format(methods=_no_hole(", ".join(line.others)))
    return f"{said}; {_left_out(line)}" if line.left_out else said


def _no_hole(text: str) -> str:
    """A text that is put into another one with a hole."""
    return text.replace("{", "{{").replace("}", "}}")


def _left_out(line: RecordLine) -> str:
    if not line.left_out:
        return ""
    return ngettext(
        "{count} test left out, not by the method", "{count} tests left out, not by the method", line.left_out
    ).format(count=line.left_out)


def _of_cleaning(line: RecordLine, units: str) -> str:
    said = (
        _(", {share} of the area").format(share=percent(line.share_of_area)) if line.share_of_area < 1 else ""
    )
    said += f", {line.wetness}"
    said += "".join(f", {detail.in_units(units)}" for detail in line.details)
    return f"{said}, {money_words(line.cost)}" if line.cost and line.cost.amount else said


def gain_in_short(gain: GainOfCleaning) -> str:
    """How many times the rate it gave: by the tests where they were made on both sides, else by the model."""
    if gain.measured_factor:
        return _("{times} times the rate by the tests").format(times=figure(gain.measured_factor))
    return _("about {times} times the rate").format(times=figure(gain.factor.median))


def gain_words(gain: GainOfCleaning) -> str:
    """What a cleaning gave, by the tests on both sides and by the model."""
    factor = gain.factor
    model = _("Model: {times} times (80 % range {low} to {high}).").format(
        times=figure(factor.median), low=figure(factor.lo80), high=figure(factor.hi80)
    )
    if not gain.measured_factor:
        return model
    tests = _("Tests before and after: {times} times the rate.").format(times=figure(gain.measured_factor))
    return f"{tests} {model}"
