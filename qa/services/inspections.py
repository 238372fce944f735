"""Everything done to inspections, to what they found, and to changes of what washes fines on to a surface."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import User
from core.calc.format import day as day_words
from core.calc.format import figure
from core.calc.paving import SourceChange as SourceChangeKind
from core.errors import AlreadyDoneError, NotAllowedNowError, UnusableRecordError
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id, replace_record, save_idempotent, void_record
from core.services.uploads import NOTHING_SENT, Sent
from qa.calc.drain_down import DrainJudgement, drain_down, drain_limit, judge_drain_down
from qa.calc.inspections import ITEMS, Answer, FindingState, InspectionItem, Severity, due_on
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange, Surface
from qa.services.changes import bump_record_version
from qa.services.days import refuse_future
from qa.services.files import attach

IT_WAS = gettext_noop("Enter the day it was.")
BEFORE_OPENING = gettext_noop("%(day)s is before the surface opened on %(opened)s. Check both dates.")
DUE_EARLY = gettext_noop(
    "%(day)s is before the inspection of %(found)s. Give the day by which it is to be corrected."
)
MENDED_EARLY = gettext_noop(
    "%(day)s is before the inspection of %(found)s that found it. Check the day on which it was corrected."
)
LEFT_OUT = gettext_noop("This inspection was set aside. Record a new one.")
NOT_OPEN = gettext_noop("This finding is %(state)s already. Reload the page to see what was done.")
NO_FINDING = gettext_noop("%(item)s is marked as wrong. Say what is wrong there.")
TOO_SLOW_FOUND = gettext_noop("Water stood in the well longer than the %(hours)s h allowed (%(source)s).")
OTHER_SURFACE = gettext_noop("That finding belongs to another surface.")
STARTED_MENDS_NOTHING = gettext_noop("A new source puts no finding right. Leave the finding out.")


@dataclass(frozen=True, slots=True)
class Found:
    """A finding to be stored with its inspection, and its photos."""

    finding: InspectionFinding
    sent: Sent = NOTHING_SENT


@transaction.atomic
def record_inspection(*, inspection: Inspection, found: Sequence[Found] = (), by: User) -> Inspection:
    """Store an inspection with its findings. A repeat with one device id gives the first row, and stores nothing.

    A well that ran empty too late is a finding by itself.
    """
    first = find_by_device_id(inspection, surface=inspection.surface_id)
    if first:
        return first
    _refuse_bad_day(inspection.surface, inspection.inspected_on, "inspected_on")
    _refuse_unexplained(inspection, found)
    slow = _slow_well(inspection)
    inspection.recorded_by = by
    stored = save_idempotent(inspection, surface=inspection.surface_id)
    if stored is inspection:
        for one in (*found, *([Found(slow)] if slow else [])):
            _store_finding(one, inspection, by)
        bump_record_version(inspection.surface_id)
    return stored


@transaction.atomic
def void_inspection(*, inspection: Inspection, by: User, reason: str) -> Inspection:
    """Keep an inspection readable; with it, its findings are work no more."""
    void_record(fact=inspection, by=by, reason=reason)
    bump_record_version(inspection.surface_id)
    return inspection


@transaction.atomic
def add_finding(*, found: Found, by: User) -> InspectionFinding:
    """Store a finding of an inspection that was recorded before. A repeat with one device id gives the first row."""
    finding = found.finding
    first = find_by_device_id(finding, inspection=finding.inspection_id)
    if first:
        return first
    inspection = Inspection.objects.select_for_update().get(pk=finding.inspection_id)
    if not inspection.is_active:
        raise NotAllowedNowError(_(LEFT_OUT))
    _store_finding(found, inspection, by)
    bump_record_version(inspection.surface_id)
    return finding


@transaction.atomic
def correct_finding(
    *, old: InspectionFinding, new: InspectionFinding, by: User, reason: str, sent: Sent = NOTHING_SENT
) -> InspectionFinding:
    """Store the finding as it should have been written; the old one stays readable."""
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    _refuse_closed(_lock(old))
    new.inspection, new.item = old.inspection, old.item
    _complete(new)
    replace_record(old=old, new=new, by=by, reason=reason)
    # What was done about it and its photos belong to it as it is now written.
    old.remedies.update(finding=new)
    old.source_changes.update(finding=new)
    old.attachments.update(finding=new)
    attach(to=new, sent=sent, by=by)
    bump_record_version(new.inspection.surface_id)
    return new


@transaction.atomic
def void_finding(*, finding: InspectionFinding, by: User, reason: str) -> InspectionFinding:
    """Set a finding aside, with the reason: it stays readable and is work no more."""
    void_record(fact=finding, by=by, reason=reason)
    bump_record_version(finding.inspection.surface_id)
    return finding


@transaction.atomic
def record_remedy(*, remedy: Remedy, by: User, sent: Sent = NOTHING_SENT) -> Remedy:
    """Close a finding by what was done. A repeat with one device id gives the first row."""
    first = find_by_device_id(remedy, finding=remedy.finding_id)
    if first:
        return first
    finding = _lock(remedy.finding)
    _refuse_closed(finding)
    _refuse_bad_day(finding.surface, remedy.done_on, "done_on")
    _refuse_before_found(finding, remedy.done_on, "done_on")
    remedy.what, remedy.done_by, remedy.recorded_by = remedy.what.strip(), remedy.done_by.strip(), by
    stored = save_idempotent(remedy, finding=remedy.finding_id)
    if stored is remedy:
        attach(to=remedy, sent=sent, by=by)
        bump_record_version(finding.inspection.surface_id)
    return stored


@transaction.atomic
def void_remedy(*, remedy: Remedy, by: User, reason: str) -> Remedy:
    """Keep what was done readable, but let the finding be work again."""
    void_record(fact=remedy, by=by, reason=reason)
    bump_record_version(remedy.finding.inspection.surface_id)
    return remedy


@transaction.atomic
def record_source_change(*, change: SourceChange, by: User) -> SourceChange:
    """Store that a source was stopped or a new one began, and close the finding it corrects.

    A repeat with one device id gives the first row. The forecast reads it from then on.
    """
    first = find_by_device_id(change, surface=change.surface_id)
    if first:
        return first
    _refuse_bad_day(change.surface, change.changed_on, "changed_on")
    _refuse_bad_finding(change)
    change.source, change.what, change.recorded_by = change.source.strip(), change.what.strip(), by
    stored = save_idempotent(change, surface=change.surface_id)
    if stored is change:
        if change.finding:
            _put_right_by(change, by)
        bump_record_version(change.surface_id)
    return stored


@transaction.atomic
def void_source_change(*, change: SourceChange, by: User, reason: str) -> SourceChange:
    """Keep a change readable but out of forecasts; the finding it corrected is to be looked at by itself."""
    void_record(fact=change, by=by, reason=reason)
    bump_record_version(change.surface_id)
    return change


def _put_right_by(change: SourceChange, by: User) -> None:
    remedy = Remedy(
        finding=change.finding, done_on=change.changed_on, what=change.what, done_by=str(by), recorded_by=by
    )
    validate_and_save(remedy)


def _store_finding(found: Found, inspection: Inspection, by: User) -> None:
    finding = found.finding
    finding.inspection, finding.recorded_by = inspection, by
    _complete(finding)
    validate_and_save(finding)
    attach(to=finding, sent=found.sent, by=by)


def _complete(finding: InspectionFinding) -> None:
    """What to do and by when follow from the item and the severity where nobody says otherwise."""
    found_on = finding.inspection.inspected_on
    finding.what, finding.where = finding.what.strip(), finding.where.strip()
    finding.advice = finding.advice.strip() or _usual_advice(finding)
    finding.due_on = finding.due_on or due_on(Severity(finding.severity), found_on)
    if finding.due_on < found_on:
        params = {"day": day_words(finding.due_on), "found": day_words(found_on)}
        raise ValidationError({"due_on": ValidationError(_(DUE_EARLY), params=params)})


def _usual_advice(finding: InspectionFinding) -> str:
    with override(finding.surface.organisation.language):  # whoever found it, the firm and its owners read it
        return ITEMS[InspectionItem(finding.item)].advice


def _slow_well(inspection: Inspection) -> InspectionFinding | None:
    """The finding that a well makes which ran empty too late. Raises ValidationError for levels that cannot be."""
    readings = inspection.well.readings
    if not readings:
        return None
    try:
        drained = drain_down(readings)
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="well") from error
    surface = inspection.surface
    limit = drain_limit(surface.drain_limit_h, surface.limit_preset)
    if limit is None or judge_drain_down(drained, limit.hours) is not DrainJudgement.TOO_SLOW:
        return None
    with override(surface.organisation.language):
        limit = drain_limit(surface.drain_limit_h, surface.limit_preset) or limit
        what = _(TOO_SLOW_FOUND) % {"hours": figure(limit.hours), "source": limit.source}
    return InspectionFinding(item=InspectionItem.WELL.value, severity=Severity.SOON.value, what=what)


def _refuse_unexplained(inspection: Inspection, found: Sequence[Found]) -> None:
    explained = {one.finding.item for one in found}
    for item in inspection.checklist.with_answer(Answer.WRONG):
        if item not in explained:
            raise ValidationError(_(NO_FINDING), params={"item": item.label})


def _lock(finding: InspectionFinding) -> InspectionFinding:
    rows = InspectionFinding.objects.select_for_update(of=("self",))
    return rows.select_related("inspection__surface__site").get(pk=finding.pk)


def _refuse_closed(finding: InspectionFinding) -> None:
    if finding.finding_state is not FindingState.OPEN:
        raise AlreadyDoneError(_(NOT_OPEN) % {"state": finding.finding_state.in_sentence})


def _refuse_bad_finding(change: SourceChange) -> None:
    if change.finding is None:
        return
    if change.finding.surface.pk != change.surface_id:
        raise ValidationError({"finding": _(OTHER_SURFACE)})
    if change.kind != SourceChangeKind.STOPPED:
        raise ValidationError({"finding": _(STARTED_MENDS_NOTHING)})
    _refuse_closed(_lock(change.finding))
    _refuse_before_found(change.finding, change.changed_on, "changed_on")


def _refuse_before_found(finding: InspectionFinding, day: date, name: str) -> None:
    found_on = finding.inspection.inspected_on
    if day < found_on:
        params = {"day": day_words(day), "found": day_words(found_on)}
        raise ValidationError({name: ValidationError(_(MENDED_EARLY), params=params)})


def _refuse_bad_day(surface: Surface, day: date, name: str) -> None:
    refuse_future(surface.site, name, day, _(IT_WAS))
    if day < surface.opened_on:
        params = {"day": day_words(day), "opened": day_words(surface.opened_on)}
        raise ValidationError({name: ValidationError(_(BEFORE_OPENING), params=params)})
