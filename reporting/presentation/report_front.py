"""Page one of a site's report as text: the verdict, what changed, what is asked of the owner, money, the agreement."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from core.calc.format import counted, day, figure, format_measure
from core.calc.units import Quantity
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from reporting.calc.parts import AgreementPart, RecordLine
from reporting.calc.report_parts import AgreedCount, Volume, WaterPart
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot
from reporting.calc.verdict import verdict
from reporting.presentation.record import gain_in_short
from reporting.presentation.standing_svg import Stand, standing_words
from reporting.presentation.words import agreed_terms, all_money_words, money_words

MOST_CHANGES = 7  # on page one; each stands with its surface as well
NOTHING_ASKED = "Nothing is asked of you at present."


def front_words(report: ReportSnapshot, units: str) -> dict[str, Any]:
    """What page one says, in the reader's units."""
    return {
        "verdict": verdict(report),
        "verdict_tone": _worst(report),
        "done": _done(report),
        "stands": standing_words(stands_of(report), units),
        "changes": _changes(report),
        "asked": list(_asked(report)) or [NOTHING_ASKED],
        "facts": [list(pair) for pair in _facts(report, units)],
        "visits": [
            {"on": day(visit.on), "work": list(visit.work), "by": visit.by} for visit in report.visits
        ],
    }


def _worst(report: ReportSnapshot) -> str:
    """The state of the surface that needs most, for the look of the verdict."""
    states = {surface.standing.state for surface in report.surfaces}
    return next((state.value for state in WORST_FIRST if state in states), SurfaceState.NOT_TESTED.value)


def _done(report: ReportSnapshot) -> str:
    done = [counted(report.rounds_done, "test round"), counted(report.cleanings_done, "cleaning")]
    if report.inspections_done:
        done.append(counted(report.inspections_done, "inspection"))
    return ", ".join(done)


def _changes(report: ReportSnapshot) -> list[str]:
    """What was done and what it gave, the newest first; rounds are counted and stand in the table."""
    found = [
        (line.on, f"{day(line.on)}, {surface.standing.name}: {_change(line)}")
        for surface in report.surfaces
        for line in surface.record
        if line.is_active and not line.is_round and not line.is_inspection
    ]
    found += [
        (finding.done_on, f"{day(finding.done_on)}, {surface.standing.name}: {finding.item} put right")
        for surface in report.surfaces
        for line in surface.record
        for finding in line.findings
        if finding.done_on and finding.done_on >= report.since and line.is_active
    ]
    said = [words for _, words in sorted(found, key=lambda change: change[0], reverse=True)]
    more = len(said) - MOST_CHANGES
    return [*said[:MOST_CHANGES], f"and {more} more, with their surfaces"] if more > 0 else said


def _change(line: RecordLine) -> str:
    if line.is_source:
        return f"{line.title}: {line.detail}".rstrip(".")
    said = line.title[:1].lower() + line.title[1:]
    return f"{said}; {gain_in_short(line.gain)}" if line.gain else said


def _asked(report: ReportSnapshot) -> Iterator[str]:
    """Quotes that wait for an answer, then released advice about which nobody has decided."""
    for quote in report.quotes:
        yield f"Answer {quote.name}, {money_words(quote.total)}, by {day(quote.valid_until)}."
    for surface in report.surfaces:
        for advice in surface.advice:
            if not advice.is_decided:
                cost = f", {money_words(advice.cost)}" if advice.cost else ""
                due = day(advice.due_on)
                yield f"Decide on “{advice.title}” for {surface.standing.name}, advised by {due}{cost}."


def _facts(report: ReportSnapshot, units: str) -> Iterable[tuple[str, str]]:
    spent = f", {all_money_words(report.spent)}" if report.spent else ""
    yield "Done in this time", f"{_done(report)}{spent}"
    if report.agreement:
        yield "Agreed", agreement_words(report.agreement)
    if report.agreed:
        for name, count in (
            ("Agreed test rounds", report.agreed.tests),
            ("Agreed cleanings", report.agreed.cleanings),
        ):
            if count.asked or count.more:
                yield name, _agreed(count)
    if report.ahead:
        yield "Advised, expected cost", all_money_words(report.ahead)
    if report.open_findings:
        yield "Found on inspections", f"{counted(report.open_findings, 'finding')} still to be corrected"
    yield from _water(report.surfaces, units)


def agreement_words(agreement: AgreementPart) -> str:
    """What was agreed for a year, with price and term."""
    rounds, cleanings = figure(agreement.tests_per_year), figure(agreement.cleanings_per_year)
    return f"{rounds} test rounds and {cleanings} cleanings a year, each surface{agreed_terms(agreement)}"


def _agreed(count: AgreedCount) -> str:
    said = f"{count.done} of {count.asked} done" if count.asked else "none due in this time"
    if count.more:
        said += f", {count.more} more than agreed"
    return f"{said}; missing on {', '.join(count.behind)}" if count.behind else said


def _water(surfaces: Sequence[ReportedSurface], units: str) -> Iterator[tuple[str, str]]:
    """What all surfaces with an estimate put into the ground, and kept for irrigation."""
    known = [surface.water for surface in surfaces if surface.water and surface.water.ground]
    if not known:
        return
    of = "" if len(known) == len(surfaces) else f"; {len(known)} of {counted(len(surfaces), 'surface')}"
    ground = _sum(part.ground for part in known)
    yield "Water put into the ground", f"{volume_words(ground, units)}{of}; estimated, {_covered(known)}"
    kept = [part.kept for part in known if part.kept]
    if kept:
        yield "Kept for irrigation", f"{volume_words(_sum(kept), units)}; estimated"


def _covered(parts: Sequence[WaterPart]) -> str:
    longest = max(parts, key=lambda part: part.days)
    return covered_words(longest)


def covered_words(part: WaterPart) -> str:
    """How much of the period a rain record tells of."""
    return f"the rain record covers {round(part.covered_days)} of {counted(part.days, 'day')}"


def _sum(volumes: Iterable[Volume | None]) -> Volume:
    listed = [volume for volume in volumes if volume]
    return Volume(
        sum(volume.low_m3 for volume in listed),
        sum(volume.middle_m3 for volume in listed),
        sum(volume.high_m3 for volume in listed),
    )


def volume_words(volume: Volume, units: str) -> str:
    """An estimate with its range."""
    low, middle, high = (
        format_measure(value, Quantity.VOLUME, units)
        for value in (volume.low_m3, volume.middle_m3, volume.high_m3)
    )
    return middle if low == high else f"{middle} ({low} to {high})"


def rate_then(surface: ReportedSurface, report: ReportSnapshot) -> float | None:
    """The estimated rate when the period began (mm/h); None where it was not open yet, or nothing was estimated."""
    decline = surface.forecast.decline if surface.forecast else None
    if decline is None or surface.standing.opened_on > report.since:
        return None
    past = decline.record.past
    at = bisect_right(past.on, report.since)
    return past.median[at - 1] if at else None


def stands_of(report: ReportSnapshot) -> list[Stand]:
    """The surfaces that are open and estimated, for the picture of them all."""
    return [
        Stand(
            surface.standing.name,
            forecast.rate_now_mm_h,
            forecast.rate_low_mm_h or forecast.rate_now_mm_h,
            forecast.rate_high_mm_h or forecast.rate_now_mm_h,
            surface.standing.limit_mm_h,
            rate_then(surface, report),
        )
        for surface in report.surfaces
        if (forecast := surface.forecast) and forecast.rate_now_mm_h and not surface.standing.opens_later
    ]
