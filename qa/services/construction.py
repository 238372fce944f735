"""Everything done to a construction record: findings, corrective work, waivers, own checks."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.roles import Role
from accounts.models import User
from core.calc.units import UnitSystem
from core.errors import AlreadyDoneError, IncompleteRecordError, NotAllowedNowError, UnusableRecordError
from core.models.rows import validate_and_save
from core.services.records import (
    find_by_device_id,
    given_reason,
    replace_record,
    save_idempotent,
    void_record,
)
from core.services.uploads import NOTHING_SENT, Sent
from qa.calc.check_model import Check
from qa.calc.check_progress import Outcome
from qa.calc.check_units import criterion_of, judge
from qa.calc.sources import SourceStatus
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.selectors.construction import AUTOMATIC, stopping
from qa.services.days import refuse_future
from qa.services.files import attach

CRITERION_COLUMNS = (
    "least",
    "most",
    "least_us",
    "most_us",
    "design",
    "readings_asked",
    "readings_basis",
    "source",
    "source_status",
)
WAS_DONE = gettext_noop("Enter the day it was done.")
STOPPED = gettext_noop("A hold point stops this stage: %(asked)s Pass it or have it waived first.")
BY_TEST = gettext_noop("This check is answered by a test round made for acceptance. Record that round.")
NOT_FAILED = gettext_noop("Only a failed finding can be corrected; this one has %(state)s.")
WORK_FIRST = gettext_noop("Say first what was done about the failure; then check again.")
OTHER_CHECK = gettext_noop("The finding to check again belongs to another check.")
DONE_AGAIN = gettext_noop("This failure was checked again already. Open the later finding.")
LEAVE_OUT_ROLE = gettext_noop(
    "Only a coordinator or an admin of this organisation may waive a check or leave out a hold point."
)
SET_ON_SURFACE = gettext_noop(
    "What is asked at acceptance is set on the surface: its acceptance rate and its area."
)
NONE_STORED = gettext_noop(
    "Nothing is stored yet: correct what is refused below, then save all of them again."
)
NEEDS_BOUND = gettext_noop("Give at least one bound, or answer it with yes or no and no unit.")


@transaction.atomic
def record_entry(
    *, entry: CheckEntry, answer: bool | None = None, by: User, sent: Sent = NOTHING_SENT
) -> CheckEntry:
    """Judge a finding and store it. Raises ValidationError; a repeat with one device id gives the first row.

    answer: for a check that is answered yes or no; otherwise `entry.reading` in the check's SI unit.
    """
    check = _lock(entry.construction_check_id)  # first: a repeat sent meanwhile waits here and finds the row
    first = find_by_device_id(entry, construction_check=check)
    if first:
        return first
    _refuse_stopped(check, entry.units)
    _refuse_recheck(entry)
    _judge(entry, check, answer)
    entry.recorded_by = by
    validate_and_save(entry)
    attach(to=entry, sent=sent, by=by)
    return entry


@dataclass(frozen=True, slots=True)
class Given:
    """A finding to be stored with others of its stage; answer and sent as `record_entry` takes them."""

    entry: CheckEntry
    answer: bool | None = None
    sent: Sent = NOTHING_SENT


class RefusedEntriesError(ValidationError):
    """Of several findings sent at once, which were refused, by their place among them. Nothing is stored."""

    def __init__(self, refused: dict[int, ValidationError | NotAllowedNowError]) -> None:
        super().__init__(_(NONE_STORED))
        self.refused = refused


@transaction.atomic
def record_entries(*, given: Sequence[Given], by: User) -> list[CheckEntry]:
    """Judge and store the findings of one stage, all of them or none; each as `record_entry` does.

    Raises RefusedEntriesError with every refusal, so that all can be corrected at once. Photos are written last, since
    no transaction takes a file back.
    """
    stored: list[CheckEntry] = []
    refused: dict[int, ValidationError | NotAllowedNowError] = {}
    for number, one in enumerate(given):
        try:
            stored.append(record_entry(entry=one.entry, answer=one.answer, by=by))
        except (ValidationError, NotAllowedNowError) as error:
            refused[number] = error
    if refused:
        raise RefusedEntriesError(refused)
    for one, entry in zip(given, stored, strict=True):
        if entry is one.entry:  # else an earlier sending stored it, with its photos
            attach(to=entry, sent=one.sent, by=by)
    return stored


@transaction.atomic
def correct_entry(
    *,
    old: CheckEntry,
    new: CheckEntry,
    answer: bool | None = None,
    by: User,
    reason: str,
    sent: Sent = NOTHING_SENT,
) -> CheckEntry:
    """Store the finding as it should have been written; the old one stays readable."""
    new.construction_check = _lock(old.construction_check_id)
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    new.rechecks = old.rechecks
    _judge(new, new.construction_check, answer)
    replace_record(old=old, new=new, by=by, reason=reason)
    # What was done about the finding, its photos, and the looks after it belong to it as it is now written.
    old.works.update(entry=new)
    old.rechecked_by.update(rechecks=new)
    old.attachments.update(entry=new)
    attach(to=new, sent=sent, by=by)
    return new


@transaction.atomic
def void_entry(*, entry: CheckEntry, by: User, reason: str) -> CheckEntry:
    """Keep a finding or a waiver readable, but let it no longer count."""
    return void_record(fact=entry, by=by, reason=reason)


@transaction.atomic
def leave_out(*, entry: CheckEntry, by: User) -> CheckEntry:
    """Store a waiver, or that a check does not apply, with its reason.

    A waiver, and leaving out a hold point, need the coordinator's role: PermissionDenied otherwise.
    """
    check = _lock(entry.construction_check_id)
    first = find_by_device_id(entry, construction_check=check)
    if first:
        return first
    entry.reason = given_reason(entry.reason)
    _refuse_low_role(check, role_to_leave_out(check, entry.outcome), by)
    refuse_future(check.record.surface.site, "done_on", entry.done_on, _(WAS_DONE))
    entry.recorded_by, entry.criterion = by, criterion_of(check.as_check, check.design)
    validate_and_save(entry)
    return entry


def role_to_leave_out(check: ConstructionCheck, outcome: str) -> Role:
    """The least role that may write this waiver, or that the check does not apply."""
    grave = outcome == Outcome.WAIVED or check.hold_point or check.key in AUTOMATIC
    return Role.COORDINATOR if grave else Role.TECHNICIAN


@transaction.atomic
def record_work(*, work: CorrectiveWork, by: User, sent: Sent = NOTHING_SENT) -> CorrectiveWork:
    """Store what was done about a failed finding. A repeat with one device id gives the first row."""
    first = find_by_device_id(work, entry=work.entry_id)
    if first:
        return first
    _refuse_unless_failed(work.entry)
    refuse_future(work.entry.construction_check.record.surface.site, "done_on", work.done_on, _(WAS_DONE))
    work.what, work.done_by, work.recorded_by = work.what.strip(), work.done_by.strip(), by
    stored = save_idempotent(work, entry=work.entry_id)
    if stored is work:
        attach(to=work, sent=sent, by=by)
    return stored


@transaction.atomic
def set_work_aside(*, work: CorrectiveWork, by: User, reason: str) -> CorrectiveWork:
    """Keep a corrective work readable, but let it no longer count."""
    return void_record(fact=work, by=by, reason=reason)


@transaction.atomic
def add_check(*, check: ConstructionCheck, by: User) -> ConstructionCheck:
    """Add a check of the job's own, after the others of its stage. A repeat with one device id gives the first row."""
    check.key = f"own_{uuid4().hex[:12]}"
    check.source_status, check.added_by = SourceStatus.ENTERED.value, by
    _refuse_boundless(check)
    record = ConstructionRecord.objects.select_for_update().get(pk=check.record_id)
    first = find_by_device_id(
        check, record=record
    )  # after the lock: a repeat sent meanwhile waits, and finds the row
    if first:
        return first
    check.position = 1 + (record.checks.aggregate(last=Max("position"))["last"] or 0)
    validate_and_save(check)
    return check


@transaction.atomic
def change_criterion(*, check: ConstructionCheck, by: User, reason: str) -> ConstructionCheck:
    """Set the bounds, the designed value or the number of readings of this job; the old ones stay in history.

    Findings made before keep the criterion they were judged by; those that waited for the designed value are judged.
    """
    reason = given_reason(reason)
    if check.key in AUTOMATIC:
        raise ValidationError(_(SET_ON_SURFACE))
    _refuse_boundless(check)
    check.source_status, check.source = SourceStatus.ENTERED.value, reason[:240]
    check._change_reason = reason  # type: ignore[attr-defined]
    check._history_user = by  # type: ignore[attr-defined]
    _let_go_of_other_sizes(check)
    validate_and_save(check, *CRITERION_COLUMNS)
    _judge_waiting(check)
    return check


def _lock(check_id: Any) -> ConstructionCheck:
    rows = ConstructionCheck.objects.select_for_update(of=("self",))
    return rows.select_related("record__surface__site").get(pk=check_id)


def _judge(entry: CheckEntry, check: ConstructionCheck, answer: bool | None) -> None:
    if check.key in AUTOMATIC:
        raise ValidationError(_(BY_TEST))
    refuse_future(check.record.surface.site, "done_on", entry.done_on, _(WAS_DONE))
    asked = check.as_check
    found: Any = entry.reading if asked.is_number else answer
    if found is None:
        raise ValidationError(
            {"reading": _("Enter the reading.") if asked.is_number else _("Answer yes or no.")}
        )
    try:
        entry.outcome = _outcome(asked, found, check.design, UnitSystem(entry.units))
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="cannot_judge") from error
    entry.criterion = criterion_of(check.as_check, check.design)


def _outcome(asked: Check, found: float | bool, design: float | None, system: UnitSystem) -> Outcome:
    """What a finding comes to; one that is held against a designed value which nobody entered yet waits for that."""
    try:
        return Outcome.PASSED if judge(asked, found, design, system).passed else Outcome.FAILED
    except IncompleteRecordError:
        return Outcome.UNJUDGED


def _judge_waiting(check: ConstructionCheck) -> None:
    """Judge the readings that waited for the designed value."""
    asked = check.as_check
    for entry in check.entries.active().filter(outcome=Outcome.UNJUDGED, reading__isnull=False):
        entry.outcome = _outcome(asked, entry.reading or 0.0, check.design, UnitSystem(entry.units))
        entry.criterion = criterion_of(asked, check.design)
        validate_and_save(entry, "outcome", "criterion_json")


def _refuse_stopped(check: ConstructionCheck, units: str) -> None:
    waiting = stopping(check, units)
    if waiting:
        raise NotAllowedNowError(_(STOPPED) % {"asked": waiting[0].asked})


def _refuse_recheck(entry: CheckEntry) -> None:
    first = entry.rechecks
    if first is None:
        return
    if first.construction_check_id != entry.construction_check_id:
        raise ValidationError(_(OTHER_CHECK))
    _refuse_unless_failed(first)
    if not first.works.active().exists():
        raise NotAllowedNowError(_(WORK_FIRST))
    if first.rechecked_by.active().exists():
        raise AlreadyDoneError(_(DONE_AGAIN))


def _refuse_unless_failed(entry: CheckEntry) -> None:
    if not entry.is_active or entry.outcome != Outcome.FAILED:
        state = entry.get_outcome_display() if entry.is_active else entry.get_state_display()
        raise NotAllowedNowError(_(NOT_FAILED) % {"state": state.lower()})


def _refuse_low_role(check: ConstructionCheck, role: Role, by: User) -> None:
    if not ConstructionCheck.objects.for_user(by, role).filter(pk=check.pk).exists():
        raise PermissionDenied(_(LEAVE_OUT_ROLE))


def _let_go_of_other_sizes(check: ConstructionCheck) -> None:
    """A bound or a number of readings that is changed takes what was printed beside the old one with it."""
    old = ConstructionCheck.objects.get(pk=check.pk)
    if old.least != check.least and old.least_us == check.least_us:
        check.least_us = None
    if old.most != check.most and old.most_us == check.most_us:
        check.most_us = None
    if old.readings_asked != check.readings_asked:
        check.readings_basis = ""


def _refuse_boundless(check: ConstructionCheck) -> None:
    boundless = check.least is None and check.most is None
    if boundless and (check.unit or check.against_design):
        raise ValidationError({"least": _(NEEDS_BOUND)})
