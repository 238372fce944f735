"""Page one of a site's report as text: the verdict, what changed, what is asked of the owner, money, the agreement."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

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
NOTHING_ASKED = gettext_noop("Nothing is asked of you at present.")


def front_words(report: ReportSnapshot, units: str) -> dict[str, Any]:
    """What page one says, in the reader's units."""
    return {
        "verdict": verdict(report),
        "verdict_tone": _worst(report),
        "done": _done(report),
        "stands": standing_words(stands_of(report), units),
        "changes": _changes(report),
        "asked": list(_asked(report)) or [_(NOTHING_ASKED)],
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
        (line.on, _at(line.on, surface, _change(line)))
        for surface in report.surfaces
        for line in surface.record
        if line.is_active and not line.is_round and not line.is_inspection
    ]
    found += [
        (finding.done_on, _at(finding.done_on, surface, _("{item} put right").format(item=finding.item)))
        for surface in report.surfaces
        for line in surface.record
        for finding in line.findings
        if finding.done_on and finding.done_on >= report.since and line.is_active
    ]
    said = [words for on, words in sorted(found, key=lambda change: change[0], reverse=True)]
    more = len(said) - MOST_CHANGES
    if more <= 0:
        return said
    return [*said[:MOST_CHANGES], _("and {count} more, with their surfaces").format(count=more)]


def _at(on: date, surface: ReportedSurface, what: str) -> str:
    """What happened, with the day and the surface."""
    said = _("{day}, {surface}: {what}")
    return said.format(day=day(on), surface=surface.standing.name, what=what)


def _change(line: RecordLine) -> str:
    if line.is_source:
        return _("{title}: {detail}").format(title=line.title, detail=line.detail).rstrip(".")
    said = line.title[:1].lower() + line.title[1:]
    return said + _("; ") + gain_in_short(line.gain) if line.gain else said


def _asked(report: ReportSnapshot) -> Iterator[str]:
    """Quotes that wait for an answer, then released advice about which nobody has decided."""
    for quote in report.quotes:
        yield _("Answer {quote}, {total}, by {day}.").format(
            quote=quote.name, total=money_words(quote.total), day=day(quote.valid_until)
        )
    for surface in report.surfaces:
        for advice in surface.advice:
            if not advice.is_decided:
                cost = f", {money_words(advice.cost)}" if advice.cost else ""
                yield _("Decide on “{advice}” for {surface}, advised by {day}{cost}.").format(
                    advice=advice.title, surface=surface.standing.name, day=day(advice.due_on), cost=cost
                )


def _facts(report: ReportSnapshot, units: str) -> Iterable[tuple[str, str]]:
    spent = f", {all_money_words(report.spent)}" if report.spent else ""
    yield _("Done in this time"), f"{_done(report)}{spent}"
    if report.agreement:
        yield _("Agreed"), agreement_words(report.agreement)
    if report.agreed:
        for name, count in (
            (_("Agreed test rounds"), report.agreed.tests),
            (_("Agreed cleanings"), report.agreed.cleanings),
        ):
            if count.asked or count.more:
                yield name, _agreed(count)
    if report.ahead:
        yield _("Advised, expected cost"), all_money_words(report.ahead)
    if report.open_findings:
        said = ngettext(
            "{count} finding still to be corrected",
            "{count} findings still to be corrected",
            report.open_findings,
        )
        yield _("Found on inspections"), said.format(count=report.open_findings)
    yield from _water(report.surfaces, units)


def agreement_words(agreement: AgreementPart) -> str:
    """What was agreed for a year, with price and term."""
    rounds, cleanings = agreement.tests_per_year, agreement.cleanings_per_year
    return _("{rounds} and {cleanings} a year, each surface{terms}").format(
        rounds=ngettext("{count} test round", "{count} test rounds", _form(rounds)).format(
            count=figure(rounds)
        ),
        cleanings=ngettext("{count} cleaning", "{count} cleanings", _form(cleanings)).format(
            count=figure(cleanings)
        ),
        terms=agreed_terms(agreement),
    )


def _form(count: float) -> int:
    """The number by which a language chooses the form of a noun: half a test round a year is some test rounds."""
    return int(count) if count == int(count) else 2


def _agreed(count: AgreedCount) -> str:
    said = _("none due in this time")
    if count.asked:
        said = _("{done} of {total} done").format(done=count.done, total=count.asked)
    if count.more:
        said += _(", {count} more than agreed").format(count=count.more)
    return (
        said + _("; missing on {surfaces}").format(surfaces=", ".join(count.behind)) if count.behind else said
    )


def _water(surfaces: Sequence[ReportedSurface], units: str) -> Iterator[tuple[str, str]]:
    """What all surfaces with an estimate put into the ground, and kept for irrigation."""
    known = [surface.water for surface in surfaces if surface.water and surface.water.ground]
    if not known:
        return
    volume = volume_words(_sum(part.ground for part in known), units)
    if len(known) == len(surfaces):
        said = _("{volume}; estimated, {covered}").format(volume=volume, covered=_covered(known))
    else:
        said = _("{volume}; {known} of {surfaces}; estimated, {covered}").format(
            volume=volume,
            known=len(known),
            surfaces=counted(len(surfaces), "surface"),
            covered=_covered(known),
        )
    yield _("Water put into the ground"), said
    kept = [part.kept for part in known if part.kept]
    if kept:
        yield (
            _("Kept for irrigation"),
            _("{volume}; estimated").format(volume=volume_words(_sum(kept), units)),
        )


def _covered(parts: Sequence[WaterPart]) -> str:
    longest = max(parts, key=lambda part: part.days)
    return covered_words(longest)


def covered_words(part: WaterPart) -> str:
    """How much of the period a rain record tells of."""
    # Translators: stands within a sentence.
    return _("the rain record covers {covered} of {days}").format(
        covered=round(part.covered_days), days=counted(part.days, "day")
    )


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
    return (
        middle if low == high else _("{middle} ({low} to {high})").format(middle=middle, low=low, high=high)
    )


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
