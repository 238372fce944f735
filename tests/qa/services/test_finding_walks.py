"""Findings of inspections and of construction led through steps at random: each is work until something closes it, and
nothing that was written is lost on the way."""

from datetime import date
from random import Random

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from core.calc.units import UnitSystem
from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.calc.check_progress import CheckStatus, Outcome
from qa.calc.check_units import as_it_was, judge
from qa.calc.inspections import FindingState
from qa.models import (
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    Inspection,
    InspectionFinding,
    Remedy,
    SourceChange,
    Surface,
)
from qa.selectors.construction import record_state
from qa.selectors.inspections import open_sediment_findings
from qa.services import assembly, construction, inspections
from qa.services.inspections import Found
from tests.factories import LayerFactory

pytestmark = pytest.mark.django_db
REFUSALS = (NotAllowedNowError, AlreadyDoneError, ValidationError, PermissionDenied)
DAY = date(2024, 6, 1)
WHY = "Written down wrongly."
STEPS = 45


class Walk:
    """Steps that somebody may try at any time; a refusal is an answer too."""

    steps = ()

    def __init__(self, firm, seed):
        self.firm, self.rng, self.by, self.done = firm, Random(seed), firm.technician, 0

    def step(self):
        try:
            getattr(self, self.rng.choice(self.steps))()
            self.done += 1
        except (*REFUSALS, IndexError):  # refused, or there is nothing to do it with
            pass

    def one(self, rows, **likely):
        """One of the rows; mostly one of those with which more hangs together."""
        better = list(rows.filter(**likely).order_by("created_at"))
        if likely and better and self.rng.random() < 0.7:
            return self.rng.choice(better)
        return self.rng.choice(list(rows.order_by("created_at")))


class InspectionWalk(Walk):
    steps = (
        *("inspect", "add", "correct", "drop", "close", "reopen", "stop", "call_back") * 2,
        *("inspect", "inspect", "void"),
    )

    def finding(self):
        item = self.rng.choice(["sediment", "planting", "edges"])
        return InspectionFinding(item=item, what="Sand along the bed")

    def inspect(self):
        row = Inspection(surface=self.firm.surface, inspected_on=DAY)
        inspections.record_inspection(inspection=row, found=[Found(self.finding())], by=self.by)

    def add(self):
        finding = self.finding()
        finding.inspection = self.one(Inspection.objects.all())
        inspections.add_finding(found=Found(finding), by=self.by)

    def correct(self):
        new = InspectionFinding(what="Sand along the kerb", severity="urgent")
        old = self.one(InspectionFinding.objects.all(), remedies__state="void")
        inspections.correct_finding(old=old, new=new, by=self.by, reason=WHY)

    def drop(self):
        finding = self.one(InspectionFinding.objects.all())
        inspections.void_finding(finding=finding, by=self.by, reason=WHY)

    def close(self):
        finding = self.one(InspectionFinding.objects.all())
        remedy = Remedy(finding=finding, done_on=DAY, what="Swept.", done_by="Crew 1")
        inspections.record_remedy(remedy=remedy, by=self.by)

    def reopen(self):
        inspections.void_remedy(remedy=self.one(Remedy.objects.all()), by=self.by, reason=WHY)

    def stop(self):
        change = SourceChange(
            surface=self.firm.surface,
            changed_on=DAY,
            kind="stopped",
            source="Bed",
            what="Kerb set",
            finding=self.one(InspectionFinding.objects.all()),
        )
        inspections.record_source_change(change=change, by=self.by)

    def call_back(self):
        change = self.one(SourceChange.objects.all())
        inspections.void_source_change(change=change, by=self.by, reason=WHY)

    def void(self):
        inspection = self.one(Inspection.objects.all())
        inspections.void_inspection(inspection=inspection, by=self.by, reason=WHY)


def version_of(surface):
    return Surface.objects.get(pk=surface.pk).record_version


@pytest.mark.parametrize("seed", range(5))
def test_a_finding_is_work_until_something_closes_it(firm, seed):
    walk = InspectionWalk(firm, seed)

    for _ in range(STEPS):
        done, version = walk.done, version_of(firm.surface)
        walk.step()
        assert (version_of(firm.surface) > version) == (walk.done > done)  # whoever computes from it is told
        assert_findings_are_told_as_they_stand(firm)

    assert walk.done > 8, "too little happened to tell"


def assert_findings_are_told_as_they_stand(firm):
    """Open are those that count, of inspections that count, about which nothing that counts was done."""
    open_ones = set()
    for finding in InspectionFinding.objects.select_related("inspection"):
        counts = finding.is_active and finding.inspection.is_active
        remedies = finding.remedies.filter(state="active")
        expected = FindingState.OPEN if not remedies.exists() else FindingState.DONE
        assert finding.finding_state is (expected if counts else FindingState.ASIDE)
        assert remedies.count() <= 1  # a closed finding is closed once
        assert finding.due_on >= finding.inspection.inspected_on
        assert finding.advice
        if finding.state == "replaced":  # its correction took over what hung on it
            assert not finding.remedies.exists()
            assert not finding.source_changes.exists()
        if finding.is_open and finding.item == "sediment":
            open_ones.add(finding)
    oldest = open_sediment_findings([firm.surface]).get(firm.surface.pk)
    assert (oldest is not None) == bool(open_ones)
    assert oldest is None or oldest in open_ones


class BuildingWalk(Walk):
    steps = ("find", "find", "find", "correct", "drop", "mend", "look_again", "look_again", "leave", "allow")

    def __init__(self, firm, seed):
        super().__init__(firm, seed)
        LayerFactory(surface=firm.surface, kind="base", thickness_mm=100.0)
        self.record = assembly.open_record(
            record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician
        )

    def check(self):
        """One of the first stages that the work has come to, so that something happens there."""
        return self.rng.choice(list(self.record.checks.order_by("position")[:4]))

    def found(self, check):
        """A reading, or a yes or a no."""
        number = check.as_check.is_number
        reading = self.rng.choice([0.0, 5.0, 60.0, 100.0, 5000.0]) if number else None
        return {"reading": reading}, None if number else self.rng.random() < 0.5

    def find(self, **fields):
        check = fields.pop("check", None) or self.check()
        values, answer = self.found(check)
        entry = CheckEntry(construction_check=check, done_on=DAY, **values, **fields)
        construction.record_entry(entry=entry, answer=answer, by=self.by)

    def correct(self):
        found = CheckEntry.objects.filter(outcome__in=("passed", "failed", "unjudged"))
        old = self.one(found, works__isnull=False)
        values, answer = self.found(old.construction_check)
        new = CheckEntry(done_on=DAY, **values)
        construction.correct_entry(old=old, new=new, answer=answer, by=self.by, reason=WHY)

    def drop(self):
        construction.void_entry(entry=self.one(CheckEntry.objects.all()), by=self.by, reason=WHY)

    def mend(self):
        entry = self.one(CheckEntry.objects.filter(outcome="failed"))
        work = CorrectiveWork(entry=entry, done_on=DAY, what="Laid again.", done_by="Crew 1")
        construction.record_work(work=work, by=self.by)

    def look_again(self):
        failed = self.one(CheckEntry.objects.filter(outcome="failed"))
        self.find(check=failed.construction_check, rechecks=failed)

    def leave(self):
        entry = CheckEntry(
            construction_check=self.check(),
            done_on=DAY,
            outcome=self.rng.choice(["waived", "not_needed"]),
            reason="Not here.",
        )
        construction.leave_out(entry=entry, by=self.rng.choice([self.firm.coordinator, self.by]))

    def allow(self):
        """Other bounds for one of the checks with a unit."""
        check = self.one(ConstructionCheck.objects.filter(record=self.record, most__isnull=False))
        check.most = (check.most or 0.0) + 1.0
        construction.change_criterion(check=check, by=self.firm.coordinator, reason="As drawn.")


@pytest.mark.parametrize("seed", range(5))
def test_a_construction_record_is_never_better_than_what_stands_in_it(firm, seed):
    walk = BuildingWalk(firm, seed)

    for _ in range(STEPS):
        walk.step()
    states = record_state(walk.record).checks

    assert walk.done > 8, "too little happened to tell"
    assert CheckEntry.objects.filter(outcome="failed").exists(), "nothing failed"
    for state in states:
        assert_it_stands_on_its_entries(state)
    for entry in CheckEntry.objects.select_related("construction_check"):
        assert_judged_by_what_was_asked_then(entry)
        assert entry.rechecked_by.filter(state="active").count() <= 1
        if entry.state == "replaced":
            assert not entry.works.exists()
            assert not entry.rechecked_by.exists()


def assert_it_stands_on_its_entries(state):
    """Nothing passes without readings that passed; no failure is forgotten before it is looked at again or waived."""
    active = [entry for entry in state.row.entries.order_by("created_at") if entry.is_active]
    outcomes = [entry.outcome for entry in active]
    if state.status is CheckStatus.PASSED:
        assert outcomes.count(Outcome.PASSED) >= state.row.readings_asked
        assert not open_failures_of(active)
    if state.status in (CheckStatus.WAIVED, CheckStatus.NOT_NEEDED):
        assert state.status.value in outcomes
    if state.status is CheckStatus.OPEN:
        assert not active
    if outcomes and outcomes[-1] == Outcome.FAILED:
        assert state.status is CheckStatus.FAILED
    assert not state.settled or state.status is not CheckStatus.FAILED


def open_failures_of(active):
    """Failures since the last waiver that nobody looked at again."""
    since = []
    for entry in active:
        since = [] if entry.outcome in (Outcome.WAIVED, Outcome.NOT_NEEDED) else [*since, entry]
    looked_at = {entry.rechecks_id for entry in since}
    return [entry for entry in since if entry.outcome == Outcome.FAILED and entry.pk not in looked_at]


def assert_judged_by_what_was_asked_then(entry):
    """A reading is what the bounds that it keeps make of it, whatever is asked by now."""
    if entry.outcome in (Outcome.PASSED, Outcome.FAILED) and entry.reading is not None:
        asked = as_it_was(entry.construction_check.as_check, entry.criterion)
        verdict = judge(asked, entry.reading, entry.criterion.design, UnitSystem(entry.units))
        assert (entry.outcome == Outcome.PASSED) == verdict.passed
