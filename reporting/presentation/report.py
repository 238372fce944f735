"""The report of a site as text for its paper."""

from collections.abc import Iterable, Mapping
from typing import Any

from core.calc.format import NOTHING, counted, day, figure, format_measure, format_rate
from core.calc.units import Quantity
from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.parts import AcceptancePart, AdvicePart, AgreementPart, AskedRate, RecordLine, Standing
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot
from reporting.calc.values import BoundedRate
from reporting.presentation.decline_svg import decline_svg, decline_words
from reporting.presentation.handover import layers_in_words
from reporting.presentation.pdf import Paper
from reporting.presentation.pictures import section_of
from reporting.presentation.record import gain_words, outcome_text
from reporting.presentation.sources import unverified_words
from reporting.presentation.words import agreed_terms, all_money_words, even_chance_words, money_words, worded

TONES: Mapping[SurfaceState, str] = {
    SurfaceState.BELOW_LIMIT: "failed",
    SurfaceState.CLEAN_SOON: "waived",
    SurfaceState.WATCH: "partly",
    SurfaceState.NOT_TESTED: "open",
    SurfaceState.DRAINING: "passed",
}


def report_words(snapshot: ReportSnapshot, units: str) -> dict[str, Any]:
    """What the report says, in the reader's units, as its paper takes it."""
    return {
        "units": units,
        "site": snapshot.site,
        "address": snapshot.address,
        "owner": snapshot.owner,
        "firm": snapshot.firm,
        "since": day(snapshot.since),
        "made_on": day(snapshot.made_on),
        "states": [
            {"count": group.count, "word": group.state.label, "tone": TONES[group.state]}
            for group in snapshot.states
        ],
        "facts": [list(pair) for pair in _facts(snapshot)],
        "surfaces": [_surface(surface, units) for surface in snapshot.surfaces],
        **unverified_words(snapshot),
        "cautions": list(snapshot.cautions),
        "demo_notice": snapshot.demo_notice,
    }


def report_paper(
    snapshot: ReportSnapshot, words: Mapping[str, Any], photos: Mapping[str, bytes] | None = None
) -> Paper:
    """The report as a paper, in the units of its words. photos: small pictures by key, those that may be shown."""
    made = snapshot.made_on
    data = dict(words) | {"made": [made.year, made.month, made.day], "pictures": sorted(photos or {})}
    drawings: dict[str, str] = {}
    for number, surface in enumerate(snapshot.surfaces):
        drawings |= _drawings(surface, words["units"], number)
    return Paper("report.typ", data | {"drawn": sorted(drawings)}, drawings, photos or {})


def _drawings(surface: ReportedSurface, units: str, number: int) -> dict[str, str]:
    section = section_of(surface.build_up, units, surface.standing.key, for_paper=True)
    found = {f"section-{number}": section.svg} if section.svg else {}
    forecast = surface.forecast
    if forecast and forecast.decline:
        found[f"decline-{number}"] = decline_svg(forecast.decline.record, units, for_paper=True)
    return found


def _facts(snapshot: ReportSnapshot) -> Iterable[tuple[str, str]]:
    done = [counted(snapshot.rounds_done, "test round"), counted(snapshot.cleanings_done, "cleaning")]
    if snapshot.inspections_done:
        done.append(counted(snapshot.inspections_done, "inspection"))
    if snapshot.spent:
        done.append(all_money_words(snapshot.spent))
    yield "Done in this time", ", ".join(done)
    if snapshot.open_findings:
        yield "Found on inspections", f"{counted(snapshot.open_findings, 'finding')} still to be corrected"
    if snapshot.agreement:
        yield "Agreed", _agreed(snapshot.agreement)
    if snapshot.ahead:
        yield "Advised, expected cost", all_money_words(snapshot.ahead)


def _agreed(agreement: AgreementPart) -> str:
    rounds, cleanings = figure(agreement.tests_per_year), figure(agreement.cleanings_per_year)
    return f"{rounds} test rounds and {cleanings} cleanings a year, each surface{agreed_terms(agreement)}"


def _surface(surface: ReportedSurface, units: str) -> dict[str, Any]:
    standing, forecast = surface.standing, surface.forecast
    decline = forecast.decline if forecast else None
    return {
        "key": str(standing.key),
        "name": standing.name,
        "state": standing.state.label,
        "tone": TONES[standing.state],
        "about": _about(standing, units),
        "rate_now": _rate_now(standing, units),
        "limit_rate": format_rate(standing.limit_mm_h, units),
        "even_chance": even_chance_words(surface),
        "limit": _asked(surface.limit, units),
        "acceptance": _acceptance(surface.acceptance, units),
        "forecast": [decline.summary.in_units(units), decline.kind] if decline else [],
        "decline_title": decline.title if decline else "",
        "decline_words": decline_words(decline.record, units) if decline else "",
        "section_words": layers_in_words(surface.build_up.layers, units),
        "advice": [_advice(advice, units) for advice in surface.advice],
        "findings": worded(surface.findings, units),
        "record": [_line(line, units) for line in surface.record],
    }


def _about(standing: Standing, units: str) -> str:
    area = format_measure(standing.area_m2, Quantity.AREA, units)
    opened = "not open yet: opens" if standing.opens_later else "opened"
    return f"{standing.surface_type.label}, {area}, {opened} {day(standing.opened_on)}"


def _rate_now(standing: Standing, units: str) -> str:
    if standing.opens_later:
        return f"opens {day(standing.opened_on)}"
    return format_rate(standing.rate_now_mm_h, units)


def _asked(asked: AskedRate, units: str) -> dict[str, str]:
    return {"said": worded(asked.reason or BoundedRate(asked.rate_mm_h), units), "source": asked.source}


def _acceptance(acceptance: AcceptancePart, units: str) -> list[str]:
    verdict, asked = acceptance.verdict, acceptance.asked
    said = ["No acceptance round is recorded."]
    if verdict:
        reason = verdict.reason.in_units(units)
        said = [f"{verdict.judgement.label}, round of {day(verdict.on)}. {reason}"]
    if asked:
        said.append(f"Acceptance rate: {worded(asked.reason, units)} {asked.source}".strip())
    return said


def _advice(advice: AdvicePart, units: str) -> dict[str, str]:
    cost = f", {money_words(advice.cost)}" if advice.cost else ""
    released = f"As advised on {day(advice.released_on)}." if advice.released_on else ""
    why = advice.why.in_units(units) if advice.why else ""
    return {
        "title": advice.title,
        "when": f"by {day(advice.due_on)}{cost}",
        "why": why,
        "released": released,
    }


def _line(line: RecordLine, units: str) -> dict[str, Any]:
    return {
        "on": day(line.on),
        "by": line.by or NOTHING,
        "what": f"{line.title}{outcome_text(line, units)}",
        "gain": gain_words(line.gain) if line.gain else "",
        "remarks": list(line.remarks),
        "findings": worded(line.findings, units),
        "aside": "" if line.is_active else f"{line.state_word}: {line.state_reason}",
    }
