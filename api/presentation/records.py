"""Rounds, cleanings and inspections as they are answered."""

from datetime import date
from uuid import UUID

from accounts.calc.audience import Audience, Matter
from api.presentation.base import Amount, Recorded, Shown, amount_of, recorded
from core.calc.audit import AuditState
from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Wetness
from maintenance.models import CleaningEvent
from qa.calc.inspections import Answer, FindingState, InspectionItem, Severity
from qa.calc.rounds import Purpose
from qa.models import Inspection, InspectionFinding, Remedy, TestRound
from qa.selectors.inspections import findings_of


class RoundOut(Recorded):
    """The tests of one surface on one day, with the weather. The tests name it."""

    tested_on: date
    """Calendar date at the site."""
    purpose: Purpose
    hours_since_rain: float | None
    standing_water: bool
    air_temperature_c: float | None
    surface_temperature_c: float | None
    note: str
    """For people of the firm."""


class CleaningOut(Recorded):
    """What was done to a surface on a day."""

    cleaned_on: date
    method: CleaningMethod
    share_of_area: float
    """1 is all of it."""
    wetness: Wetness
    passes: int | None
    pressure_bar: float | None
    depth_out_mm: float | None
    material_out_kg: float | None
    material_in_kg: float | None
    material_in: str
    done_by: str
    equipment: str
    disposal_ticket: str
    disposal_place: str
    price: Amount | None
    """What the owner was charged."""
    note: str
    """For people of the firm."""


class RemedyOut(Shown):
    """What was done about a finding."""

    id: UUID
    done_on: date
    what: str
    done_by: str
    state: AuditState


class FindingOut(Shown):
    """Something that an inspection found wrong."""

    id: UUID
    item: InspectionItem
    severity: Severity
    what: str
    where: str
    depth_mm: float | None
    comes_from: str
    advice: str
    due_on: date
    finding_state: FindingState
    remedies: list[RemedyOut]


class WellOut(Shown):
    """Water in the observation well."""

    hours: float
    """Since the rain ended."""
    water_mm: float
    """Above the bottom of the stone."""


class InspectionOut(Recorded):
    """A look at a surface with a checklist beyond its rate."""

    inspected_on: date
    hours_since_rain: float | None
    answers: dict[InspectionItem, Answer]
    well: list[WellOut]
    winter_practice: str
    findings: list[FindingOut]
    """As they stand now; those that were replaced are left out."""
    note: str
    """For people of the firm."""


def round_out(row: TestRound, audience: Audience) -> RoundOut:
    """A test round."""
    return RoundOut(
        **recorded(row, row.surface),
        tested_on=row.tested_on,
        purpose=Purpose(row.purpose),
        hours_since_rain=row.hours_since_rain,
        standing_water=row.standing_water,
        air_temperature_c=row.air_temperature_c,
        surface_temperature_c=row.surface_temperature_c,
        note=audience.shown(Matter.NOTES, row.note, ""),
    )


def cleaning_out(row: CleaningEvent, audience: Audience) -> CleaningOut:
    """A cleaning."""
    people = audience.sees(Matter.PEOPLE)
    return CleaningOut(
        **recorded(row, row.surface),
        cleaned_on=row.cleaned_on,
        method=CleaningMethod(row.method),
        share_of_area=row.share_of_area,
        wetness=Wetness(row.wetness),
        passes=row.passes,
        pressure_bar=row.pressure_bar,
        depth_out_mm=row.depth_out_mm,
        material_out_kg=row.material_out_kg,
        material_in_kg=row.material_in_kg,
        material_in=row.material_in,
        done_by=row.done_by if people else "",
        equipment=row.equipment,
        disposal_ticket=row.disposal_ticket,
        disposal_place=row.disposal_place,
        price=audience.shown(Matter.PRICES, amount_of(row.cost, row.currency), None),
        note=audience.shown(Matter.NOTES, row.note, ""),
    )


def inspection_out(row: Inspection, audience: Audience) -> InspectionOut:
    """An inspection with its findings. Expects them fetched, with what was done about each."""
    return InspectionOut(
        **recorded(row, row.surface),
        inspected_on=row.inspected_on,
        hours_since_rain=row.hours_since_rain,
        answers=dict(row.checklist.answers),
        well=[WellOut(hours=one.hours, water_mm=one.water_mm) for one in row.well.readings],
        winter_practice=row.winter_practice,
        findings=[_finding(one) for one in findings_of(row)],
        note=audience.shown(Matter.NOTES, row.note, ""),
    )


def _finding(row: InspectionFinding) -> FindingOut:
    return FindingOut(
        id=row.pk,
        item=InspectionItem(row.item),
        severity=Severity(row.severity),
        what=row.what,
        where=row.where,
        depth_mm=row.depth_mm,
        comes_from=row.comes_from,
        advice=row.advice,
        due_on=row.due_on,
        finding_state=row.finding_state,
        remedies=[_remedy(one) for one in row.remedies.all()],
    )


def _remedy(row: Remedy) -> RemedyOut:
    state = AuditState(row.state)
    return RemedyOut(id=row.pk, done_on=row.done_on, what=row.what, done_by=row.done_by, state=state)
