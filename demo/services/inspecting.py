"""Inspections of invented surfaces and what became of them, through the services that people use."""

from datetime import date, timedelta

from accounts.models import Organisation, User
from core.services.uploads import Sent, accept
from demo.calc.inspections import CHANGES, INSPECTIONS, DemoFinding, DemoInspection
from demo.presentation.pictures import picture
from qa.calc.drain_down import WellReadings
from qa.calc.inspections import Answer, Checklist, items_for
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange, Surface
from qa.services import inspections

DONE_AFTER = timedelta(days=7)


def inspect(firm: Organisation, today: date, by: User) -> None:
    """Record every invented inspection and change of source."""
    for spec in INSPECTIONS:
        _inspect(_surface(firm, spec.site, spec.surface), spec, today, by)
    for spec_change in CHANGES:
        change = SourceChange(
            surface=_surface(firm, spec_change.site, spec_change.surface),
            changed_on=today - timedelta(days=spec_change.days_ago),
            kind=spec_change.kind,
            source=spec_change.source,
            what=spec_change.what,
        )
        inspections.record_source_change(change=change, by=by)


def _surface(firm: Organisation, site: str, name: str) -> Surface:
    return (
        Surface.objects.of_organisation(firm)
        .select_related("site__organisation")
        .get(site__name=site, name=name)
    )


def _inspect(surface: Surface, spec: DemoInspection, today: date, by: User) -> None:
    wrong = {finding.item for finding in spec.findings}
    inspection = Inspection(
        surface=surface,
        inspected_on=today - timedelta(days=spec.days_ago),
        hours_since_rain=36.0,
        winter_practice=spec.winter,
    )
    inspection.checklist = Checklist(
        {i: Answer.WRONG if i in wrong else Answer.IN_ORDER for i in items_for(surface.surface_type)}
    )
    inspection.well = WellReadings(spec.well)
    found = [_found(finding, number) for number, finding in enumerate(spec.findings)]
    inspections.record_inspection(inspection=inspection, found=found, by=by)
    for one, finding in zip(found, spec.findings, strict=True):
        _follow(one.finding, finding, inspection.inspected_on, by)


def _found(spec: DemoFinding, number: int) -> inspections.Found:
    finding = InspectionFinding(
        item=spec.item,
        what=spec.what,
        where=spec.where,
        severity=spec.severity,
        comes_from=spec.comes_from,
        depth_mm=spec.depth_mm,
    )
    if not spec.scene:
        return inspections.Found(finding)
    photo = accept(picture(spec.scene, spec.what, 500 + number))
    return inspections.Found(finding, Sent((photo,), spec.what))


def _follow(finding: InspectionFinding, spec: DemoFinding, found_on: date, by: User) -> None:
    if spec.done:
        remedy = Remedy(finding=finding, done_on=found_on + DONE_AFTER, what=spec.done, done_by="Crew south")
        inspections.record_remedy(remedy=remedy, by=by)
    if spec.aside:
        inspections.void_finding(finding=finding, by=by, reason=spec.aside)
