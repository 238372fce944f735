"""A record with a marked text in every place that somebody may not read, and who may read it where."""

from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal

from accounts.calc.audience import Audience
from core.services.files import void_file
from core.services.uploads import Sent, accept
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from maintenance.services import cleanings, forecasts, releases
from planning.models import Agreement
from qa.models import (
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    Inspection,
    InspectionFinding,
    Remedy,
    SourceChange,
)
from qa.services import assembly, construction, files, inspections
from qa.services.inspections import Found
from tests.clock import TODAY
from tests.core.services.test_uploads import photo, sent
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LayerFactory,
    RoundFactory,
    SievingFactory,
    VisitFactory,
    VisitTaskFactory,
)

FIRM = {Audience.FIRM}
OWNER = {Audience.FIRM, Audience.OWNER}
ALL = set(Audience)
SURFACE, SITE, REPORT, START, HANDOVER = "surface", "site", "report", "start", "handover"


@dataclass(frozen=True)
class Mark:
    """A planted text. stored: how it stands in a payload, where that differs from the page. where: who, by document."""

    text: str
    where: dict[str, set[Audience]]
    stored: str = ""


def on(documents, readers):
    return dict.fromkeys(documents, readers)


MARKS = (
    Mark("note-of-the-surface", on([SURFACE], FIRM)),
    Mark("key-under-the-mat", on([SITE], FIRM)),
    Mark("note-of-the-owner", {}),
    Mark("note-of-the-round", {}),
    Mark("note-of-the-test", {}),
    Mark("note-of-the-cleaning", {}),
    Mark("note-of-the-agreement", {}),
    Mark("crew-of-the-visit", on([SURFACE, SITE, REPORT], FIRM)),
    Mark("reason-of-declining", {}),
    Mark("why-it-was-declined", {}),
    Mark("reason-of-open-advice", on([SURFACE, REPORT, START], OWNER)),
    # The price of the open advice as it was released: the firm's page of the surface shows that of today.
    Mark("7,654", {SURFACE: OWNER - FIRM, REPORT: OWNER, START: OWNER}, stored="7654.32"),
    Mark("reason-of-planned-advice", on([SURFACE, REPORT, START], ALL)),
    Mark("6,543", on([SURFACE, REPORT, START], OWNER), stored="6543.21"),  # price of the planned advice
    Mark("reason-never-released", on([SURFACE], FIRM)),
    Mark("5,432", on([SURFACE], FIRM), stored="5432.10"),  # its price
    Mark("4,321", on([SURFACE], FIRM), stored="4321.09"),  # price of the open advice since its release
    Mark("caption-of-the-photo", on([SURFACE, HANDOVER], ALL)),
    Mark("caption-set-aside", on([SURFACE], FIRM)),
    Mark("why-the-photo-went", on([SURFACE], FIRM)),
    Mark("why-the-cleaning-went", on([SURFACE, REPORT], OWNER)),
    Mark("why-the-finding-went", on([HANDOVER], OWNER)),
    Mark("Tessa Technician", on([SURFACE, REPORT, HANDOVER], OWNER)),
    Mark("crew-that-put-it-right", on([HANDOVER], OWNER)),
    Mark("remark-on-the-finding", on([HANDOVER], OWNER)),
    Mark("why-it-was-waived", on([HANDOVER], ALL)),
    Mark("8,765.43", on([SURFACE, REPORT], OWNER), stored="8765.43"),  # price of the cleaning
    Mark("9,876.54", on([SURFACE], FIRM), stored="9876.54"),  # price of a way of cleaning
    Mark("Chance it lasts", on([SURFACE], FIRM), stored="share_staying_above"),  # what each would give
    Mark("Check mass, ring and time", on([SURFACE], FIRM)),  # what is odd in the record
    Mark("why-no-forecast", on([SURFACE], OWNER)),
    Mark("49.3 test rounds", on([SITE, REPORT], OWNER), stored='"tests_per_year": 49.3'),  # what was agreed
    Mark("note-of-the-inspection", {}),
    Mark("what-the-inspection-found", on([SURFACE, REPORT, HANDOVER], ALL)),
    Mark("how-it-was-put-right", on([SURFACE, REPORT, HANDOVER], ALL)),
    Mark("crew-that-mended-it", on([SURFACE, REPORT, HANDOVER], OWNER)),
    Mark("why-the-look-went", on([SURFACE, REPORT, HANDOVER], OWNER)),
    Mark("source-that-was-stopped", on([SURFACE, REPORT, HANDOVER], ALL)),
    Mark("Vacuum sweeping", on([SURFACE, REPORT, HANDOVER], ALL)),  # what was done is for all
)


def plant(firm):
    """Put every marked text into the firm's record; returns the surface."""
    surface, tessa = firm.surface, firm.technician
    tessa.full_name = "Tessa Technician"
    tessa.save()
    _plant_notes(firm)
    _plant_tests(surface, tessa)
    _plant_cleanings(surface, tessa)
    _plant_construction(surface, tessa, firm.coordinator)
    _plant_files(surface, tessa)
    _plant_inspection(surface, tessa)
    forecasts.refresh(surface.pk)
    _plant_forecast(surface)
    _plant_advice(firm)
    surface.refresh_from_db()
    return surface


def _plant_notes(firm):
    firm.surface.note, firm.site.access_note = "note-of-the-surface", "key-under-the-mat"
    firm.owner.note = "note-of-the-owner"
    firm.surface.acceptance_rate_mm_h = 2540.0
    for row in (firm.surface, firm.site, firm.owner):
        row.save()
    Agreement.objects.create(site=firm.site, tests_per_year=49.3, note="note-of-the-agreement")


def _plant_tests(surface, by):
    day = TODAY - timedelta(days=90)
    made = {"purpose": "acceptance", "tested_on": day, "note": "note-of-the-round", "recorded_by": by}
    round_ = RoundFactory(surface=surface, **made)
    for spot, seconds in (("A", 1.0), ("B", 100.0), ("C", 100.0)):
        read = {"test_mass": 18.0, "elapsed_s": seconds, "note": "note-of-the-test"}
        InfiltrationTestFactory(round=round_, spot=spot, prewet_time_s=20.0, recorded_by=by, **read)


def _plant_cleanings(surface, by):
    day = TODAY - timedelta(days=60)
    kept = {"surface": surface, "recorded_by": by, "note": "note-of-the-cleaning"}
    CleaningFactory(cleaned_on=day, cost=Decimal("8765.43"), **kept)
    gone = CleaningFactory(cleaned_on=day, method="broom", **kept)
    cleanings.void_cleaning(event=gone, by=by, reason="why-the-cleaning-went")


def _plant_construction(surface, by, coordinator):
    LayerFactory(surface=surface, kind="base", material="open-graded stone", thickness_mm=100.0)
    SievingFactory(surface=surface, recorded_by=by)
    record = assembly.open_record(record=ConstructionRecord(surface=surface), parts=["base"], by=by)
    keys = ("utilities_located", "base_thickness", "runoff_kept_out")
    check, waived, wrong = (ConstructionCheck.objects.get(record=record, key=key) for key in keys)
    failed = _find(check, by, answer=False, note="remark-on-the-finding")
    construction.record_work(
        work=CorrectiveWork(entry=failed, done_on=TODAY, what="Marked.", done_by="crew-that-put-it-right"),
        by=by,
    )
    construction.leave_out(
        entry=CheckEntry(
            construction_check=waived, outcome="waived", done_on=TODAY, reason="why-it-was-waived"
        ),
        by=coordinator,
    )
    construction.void_entry(entry=_find(wrong, by, answer=True), by=by, reason="why-the-finding-went")


def _find(check, by, *, answer, **fields):
    entry = CheckEntry(construction_check=check, done_on=TODAY, **fields)
    return construction.record_entry(entry=entry, answer=answer, by=by)


def _plant_inspection(surface, by):
    day = TODAY - timedelta(days=30)
    inspection = Inspection(surface=surface, inspected_on=day, note="note-of-the-inspection")
    found = [
        Found(InspectionFinding(item="edges", what=what))
        for what in ("what-the-inspection-found", "mended", "gone")
    ]
    inspections.record_inspection(inspection=inspection, found=found, by=by)
    _, mended, gone = (one.finding for one in found)
    remedy = Remedy(finding=mended, done_on=day, what="how-it-was-put-right", done_by="crew-that-mended-it")
    inspections.record_remedy(remedy=remedy, by=by)
    inspections.void_finding(finding=gone, by=by, reason="why-the-look-went")
    change = SourceChange(
        surface=surface, changed_on=day, kind="stopped", source="source-that-was-stopped", what="Kerb set"
    )
    inspections.record_source_change(change=change, by=by)


def _plant_files(surface, by):
    for caption in ("caption-of-the-photo", "caption-set-aside"):
        (row,) = files.attach(to=surface, sent=Sent((accept(sent(photo())),), caption), by=by)
    void_file(row=row, by=by, reason="why-the-photo-went")


def _plant_forecast(surface):
    forecast = surface.forecast
    forecast.refresh_from_db()
    forecast.error = "why-no-forecast"
    first, *others = forecast.outlook.options
    dear = replace(first, cost=Decimal("9876.54"))
    forecast.outlook = replace(forecast.outlook, options=(dear, *others))
    forecast.save()


def _plant_advice(firm):
    Recommendation.objects.all().delete()
    row = _advise(firm.surface, "test", "open", "reason-of-open-advice", "7654.32")
    _advise(firm.surface, "source", "open", "reason-never-released", "5432.10")
    planned = _advise(firm.surface, "clean", "planned", "reason-of-planned-advice", "6543.21")
    _advise(
        firm.surface, "look", "declined", "reason-of-declining", None, decision_reason="why-it-was-declined"
    )
    releases.release(recommendations=[row, planned], by=firm.coordinator)
    Recommendation.objects.filter(pk=row.pk).update(cost=Decimal("4321.09"))
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation, name="crew-of-the-visit"))
    VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", recommendation=planned)


def _advise(surface, action, status, reason, cost, **fields):
    return Recommendation.objects.create(
        surface=surface,
        action=action,
        status=status,
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        grounds=Grounds(surface.record_version, (reason,)),
        cost=cost and Decimal(cost),
        **fields,
    )
