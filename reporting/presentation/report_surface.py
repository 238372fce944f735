"""One surface of a site's report as text: state, tests against the limit, cleanings with gains, forecast, water."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from core.calc.format import NOTHING, counted, day, format_measure, format_rate, format_short_length, labelled
from core.calc.units import Quantity
from maintenance.calc.forecast_payload import RateCurve
from maintenance.calc.vocabulary import RecordKind, SurfaceState
from reporting.calc.parts import (
    AcceptancePart,
    AdvicePart,
    AskedRate,
    DeclinePart,
    RecordLine,
    SpotPart,
    Standing,
)
from reporting.calc.report_parts import AgainstLimit, ReportedRound, VisitToCome, WaterPart
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot
from reporting.calc.values import BoundedRate
from reporting.presentation.decline_svg import decline_words
from reporting.presentation.handover import layers_in_words
from reporting.presentation.record import gain_words, outcome_text
from reporting.presentation.report_front import covered_words, rate_then, volume_words
from reporting.presentation.words import even_chance_words, money_words, rate_words, worded

TONES = {
    SurfaceState.BELOW_LIMIT: "failed",
    SurfaceState.CLEAN_SOON: "waived",
    SurfaceState.WATCH: "partly",
    SurfaceState.NOT_TESTED: "open",
    SurfaceState.DRAINING: "passed",
}
LIMIT_TONES = {
    AgainstLimit.REACHES: "passed",
    AgainstLimit.BELOW: "failed",
    AgainstLimit.CANNOT_TELL: "partly",
    AgainstLimit.LEFT_OUT: "not_needed",
    AgainstLimit.NO_RATE: "not_needed",
}
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def surface_words(surface: ReportedSurface, report: ReportSnapshot, units: str) -> dict[str, Any]:
    """What the report says of one surface, in the reader's units."""
    standing, forecast = surface.standing, surface.forecast
    decline = forecast.decline if forecast else None
    return {
        "key": str(standing.key),
        "name": standing.name,
        "state": standing.state.label,
        "state_key": standing.state.value,
        "tone": TONES[standing.state],
        "about": _about(standing, units),
        "rate_then": format_rate(rate_then(surface, report), units),
        "rate_now": _rate_now(standing, units),
        "limit_rate": format_rate(standing.limit_mm_h, units),
        "even_chance": even_chance_words(surface),
        "limit": _asked(surface.limit, units),
        "acceptance": _acceptance(surface.acceptance, units),
        "forecast": [decline.summary.in_units(units), decline.kind] if decline else [],
        "decline_title": decline.title if decline else "",
        "decline_words": decline_words(decline.record, units) if decline else "",
        "section_words": layers_in_words(surface.build_up.layers, units),
        "plan_words": _plan_words(surface.spots, units),
        "advice": [_advice(advice, units) for advice in surface.advice],
        "coming": list(_coming(standing.key, report.visits)),
        "findings": worded(surface.findings, units),
        "rounds": [_round(round_, units) for round_ in surface.rounds],
        "cleanings": list(_cleanings(surface.record, decline, units)),
        "record": [_line(line, units) for line in surface.record if stands_below(line, surface)],
        "water": _water(surface.water, units) if surface.water else None,
    }


def _coming(key: UUID, visits: Iterable[VisitToCome]) -> Iterator[str]:
    """On which days the crew comes to a surface, and for what."""
    for visit in visits:
        if work := visit.at(key):
            said = _("The crew comes on {day}. {work}.")
            yield said.format(day=day(visit.on), work="; ".join(work))


def _about(standing: Standing, units: str) -> str:
    area = format_measure(standing.area_m2, Quantity.AREA, units)
    said = (
        _("{kind}, {area}, not open yet: opens {day}")
        if standing.opens_later
        else _("{kind}, {area}, opened {day}")
    )
    return said.format(kind=standing.surface_type.label, area=area, day=day(standing.opened_on))


def _rate_now(standing: Standing, units: str) -> str:
    if standing.opens_later:
        return _("opens {day}").format(day=day(standing.opened_on))
    return format_rate(standing.rate_now_mm_h, units)


def _asked(asked: AskedRate, units: str) -> dict[str, str]:
    return {"said": worded(asked.reason or BoundedRate(asked.rate_mm_h), units), "source": asked.source}


def _acceptance(acceptance: AcceptancePart, units: str) -> list[str]:
    verdict, asked = acceptance.verdict, acceptance.asked
    said = [_("No acceptance round is recorded.")]
    if verdict:
        reason = verdict.reason.in_units(units)
        round_ = _("{judgement}, round of {day}.").format(
            judgement=verdict.judgement.label, day=day(verdict.on)
        )
        said = [f"{round_} {reason}"]
    if asked:
        rate = _("Acceptance rate: {reason}").format(reason=worded(asked.reason, units))
        said.append(f"{rate} {asked.source}".strip())
    return said


def _advice(advice: AdvicePart, units: str) -> dict[str, str]:
    cost = f", {money_words(advice.cost)}" if advice.cost else ""
    return {
        "title": advice.title,
        "when": _("by {day}").format(day=day(advice.due_on)) + cost,
        "why": advice.why.in_units(units) if advice.why else "",
        "released": _("As advised on {day}.").format(day=day(advice.released_on))
        if advice.released_on
        else "",
    }


def _plan_words(spots: Iterable[SpotPart], units: str) -> str:
    placed = [spot for spot in spots if spot.x_m is not None]
    said = [f"{spot.label}, {rate_words(spot.last, units)}" if spot.last else spot.label for spot in placed]
    spots_said = _("; ").join(said) or _("none placed")
    return _("Plan of the surface with its test locations: {spots}.").format(spots=spots_said)


# ---- Tests ----


def _round(round_: ReportedRound, units: str) -> dict[str, Any]:
    letters = _lettered(round_)
    return {
        "key": str(round_.key),
        "title": _("{purpose} round of {day}").format(purpose=round_.purpose, day=day(round_.on)),
        "by": round_.by,
        "said": _tests_and_mean(round_, units),
        "result": round_.result.word,
        "reason": round_.result.reason.in_units(units),
        "tone": {True: "passed", False: "failed", None: "partly"}[round_.result.reached],
        "tests": [
            {
                "spot": test.spot,
                "text": test.text.in_units(units),
                "against": test.against_limit.label,
                "tone": LIMIT_TONES[test.against_limit],
                "notes": ", ".join(letters[words] for words in test.departures),
            }
            for test in round_.tests
        ],
        "notes": [[letter, words] for words, letter in letters.items()],
        "departures": list(round_.departures),
    }


def _tests_and_mean(round_: ReportedRound, units: str) -> str:
    tests = counted(len(round_.tests), "test")
    if round_.mean is None:
        return _("{tests}, no mean.").format(tests=tests)
    mean = rate_words(round_.mean, units)
    if not round_.by_method:
        return _("{tests}, geometric mean {mean}.").format(tests=tests, mean=mean)
    said = _("{tests}, geometric mean {mean} by {method}.")
    return said.format(tests=tests, mean=mean, method=round_.by_method)


def _lettered(round_: ReportedRound) -> dict[str, str]:
    """Each departure of a round's tests once, by the letter that stands beside the tests it was found at."""
    found = dict.fromkeys(words for test in round_.tests for words in test.departures)
    return {words: _letter(number) for number, words in enumerate(found)}


def _letter(number: int) -> str:
    times, place = divmod(number, len(LETTERS))
    return LETTERS[place] * (times + 1)


# ---- Cleanings and the rest of the record ----


def _cleanings(
    lines: Iterable[RecordLine], decline: DeclinePart | None, units: str
) -> Iterator[dict[str, str]]:
    past = decline.record.past if decline else None
    for line in lines:
        if line.kind is RecordKind.CLEANING and line.is_active:
            before, after = _around(past, line, units)
            yield {
                "key": str(line.key),
                "on": day(line.on),
                "what": f"{line.title}{outcome_text(line, units)}",
                "before": before,
                "after": after,
                "gain": gain_words(line.gain) if line.gain else _("not estimated yet"),
            }


def _around(past: RateCurve | None, line: RecordLine, units: str) -> tuple[str, str]:
    """The estimated rate before and after a cleaning: the curve has two points on its day."""
    at = [number for number, on in enumerate(past.on) if on == line.on] if past else []
    if past is None or len(at) < 2:
        return NOTHING, NOTHING
    return format_rate(past.median[at[0]], units), format_rate(past.median[at[-1]], units)


def stands_below(line: RecordLine, surface: ReportedSurface) -> bool:
    """Whether a line is told nowhere else: rounds and cleanings that count have tables of their own."""
    if not line.is_active or line.kind not in (RecordKind.ROUND, RecordKind.CLEANING):
        return True
    return line.is_round and line.key not in {round_.key for round_ in surface.rounds}


def _line(line: RecordLine, units: str) -> dict[str, Any]:
    return {
        "on": day(line.on),
        "by": line.by,
        "what": f"{line.title}{outcome_text(line, units)}",
        "gain": gain_words(line.gain) if line.gain else "",
        "remarks": list(line.remarks),
        "findings": worded(line.findings, units),
        "aside": "" if line.is_active else labelled(line.state_word, line.state_reason),
    }


# ---- Water ----


def _water(part: WaterPart, units: str) -> dict[str, Any]:
    if part.problem or part.ground is None:
        return {"said": "", "problem": part.problem, "rows": [], "by_record": ""}
    rows = (
        (_("Fell on it and ran on to it"), part.came),
        (_("Put into the ground"), part.ground),
        (_("Kept for irrigation"), part.kept),
        (_("Ran off"), part.ran_off),
        (_("Only wetted the ground"), part.lost),
    )
    rain = format_short_length(part.rain_mm, units)
    return {
        "said": _("{record}: {rain} of rain; {covered}.").format(
            record=part.record, rain=rain, covered=covered_words(part)
        ),
        "problem": "",
        "rows": [[name, volume_words(volume, units)] for name, volume in rows if volume],
        "by_record": part.by_record.in_units(units) if part.by_record else "",
    }
