"""Every form that records, sent twice: by a double tap, or again because the answer was lost."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from accounts.models import Owner
from core.calc.paving import TestMethod
from exchange.models import DataImport
from maintenance.models import CleaningAttachment, CleaningEvent, PriceList, Training
from planning.models import Crew, CrewAbsence, Quote, Visit, VisitTask, WorkPlan
from qa.models import (
    Attachment,
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    InfiltrationTest,
    Inspection,
    InspectionFinding,
    OwnBand,
    OwnLimit,
    RainRecord,
    Remedy,
    Sieving,
    Site,
    SoilTest,
    SourceChange,
    Surface,
    TestRound,
)
from reporting.models import Sending, SharedLink, Snapshot, ThreadMessage, VerifiedSource
from tests.clock import TODAY
from tests.factories import (
    CheckEntryFactory,
    ConstructionCheckFactory,
    CorrectiveWorkFactory,
    InspectionFindingFactory,
    SurfaceFactory,
)
from tests.permissions import TABLE
from tests.qa.views.test_field_methods import RING, typed

DAY = "2024-07-02"
PDF = b"%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n"
SOIL = {
    "tested_on": DAY,
    "method": "double_ring",
    "place": "North corner",
    "start_1": "200",
    "end_1": "180",
    "minutes_1": "60",
}
FINDING = {"reading": "yes", "done_on": DAY}
FILE = {"photos": "a file"}
SITE = {"name": "New site", "time_zone": "UTC"}
SURFACE = {
    "name": "New surface",
    "surface_type": "picp",
    "area_m2": "100",
    "opened_on": "2024-05-01",
    "traffic": "2",
    "run_on_area_m2": "0",
    "clogging_share": "0.1",
    "agreed_limit_mm_h": "250",
}
CLEANING = {"cleaned_on": DAY, "method": "vacuum", "share_of_area": "1", "wetness": "dry"}
SIEVING = {"sampled_on": DAY, "entry": "passing", "sieve_12_5": "100", "sieve_9_5": "90", "sieve_4_75": "20"}
TRAINING = {
    "trained_on": DAY,
    "trained_by": "Tom Trainer",
    "people": "Carla Caretaker, caretaker",
    "topics": ["winter"],
}
SENT = {"addresses": "drains@city.example", "message": "As agreed."}
ROWS = {"rows-TOTAL_FORMS": "1", "rows-INITIAL_FORMS": "0"}
BAND = {
    "name": "New band",
    "source": "pit",
    "rows-0-sieve_mm": "25",
    "rows-0-low": "90",
    "rows-0-high": "100",
}

# route: (what it stores, what is typed, a second thing typed instead)
FORMS = {
    "qa:round-create": (TestRound, {"tested_on": DAY, "purpose": "routine"}, {"tested_on": "2024-07-03"}),
    "qa:soil-test-create": (SoilTest, SOIL, {"place": "South corner"}),
    "qa:sieving-create?band=8": (Sieving, SIEVING, {"sampled_on": "2024-07-03"}),
    "qa:check-record": (CheckEntry, FINDING, {"done_on": "2024-07-03"}),
    "qa:entry-recheck": (CheckEntry, FINDING, None),
    "qa:check-waive": (CheckEntry, {"done_on": DAY, "reason": "Agreed."}, {"reason": "Agreed in writing."}),
    "qa:check-not-needed": (CheckEntry, {"done_on": DAY, "reason": "No pipe."}, {"reason": "No pipe here."}),
    "qa:check-create": (
        ConstructionCheck,
        {"stage": "base", "asked": "The kerb stands 20 mm above the paving.", "readings_asked": "1"},
        {"asked": "The kerb stands 30 mm above the paving."},
    ),
    "qa:work-create": (
        CorrectiveWork,
        {"what": "Laid anew.", "done_by": "Crew 1", "done_on": DAY},
        {"what": "x"},
    ),
    "qa:construction-open": (ConstructionRecord, {"parts": "base", "heaviest_use": "vehicle"}, None),
    "qa:site-create": (Site, SITE, {"name": "Other site"}),
    "qa:surface-create": (Surface, SURFACE, {"name": "Other surface"}),
    "qa:own-limit-create": (
        OwnLimit,
        {"name": "New", "limit_mm_h": "300", "acceptance_mm_h": "2000", "source": "contract"},
        {"name": "Other"},
    ),
    "qa:own-band-create": (OwnBand, ROWS | BAND, {"name": "Other band"}),
    "qa:surface-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:round-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:test-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:entry-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:work-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "maintenance:cleaning-file-create": (CleaningAttachment, FILE, {"caption": "Joint"}),
    "maintenance:cleaning-create": (CleaningEvent, CLEANING, {"cleaned_on": "2024-07-03"}),
    "planning:visit-create": (Visit, {"visit_on": "2031-06-01"}, {"visit_on": "2031-06-02"}),
    "maintenance:price-create": (
        PriceList,
        {"valid_from": "2031-01-01", "tax_percent": "0"},
        {"valid_from": "2031-02-01"},
    ),
    "planning:quote-create": (Quote, {"valid_until": "2031-06-01"}, {"valid_until": "2031-06-02"}),
    "planning:task-create": (VisitTask, {"action": "look"}, None),
    "planning:recommendation-plan": (VisitTask, {"visit_on": "2031-06-01"}, None),
    "planning:proposal-create": (
        WorkPlan,
        {"first_on": "2031-06-02", "days": "5", "tests_beside": "after", "seed": "1"},
        {"seed": "2"},
    ),
    "planning:absence-create": (
        CrewAbsence,
        {"first_on": "2031-06-02", "last_on": "2031-06-04"},
        {"last_on": "2031-06-05"},
    ),
    "planning:crew-create": (Crew, {"name": "New crew", "hours_a_day": "8"}, {"name": "Other crew"}),
    "accounts:owner-create": (Owner, {"name": "New owner"}, {"name": "Other owner"}),
    "reporting:message-create": (
        ThreadMessage,
        {"text": "We come on Monday."},
        {"text": "We come on Tuesday."},
    ),
    "exchange:import-list": (
        DataImport,
        {"sheets": "a file", "units": "si", "days": "dmy", "decimals": "point"},
        {"units": "us"},
    ),
    "reporting:report-keep": (Snapshot, {"since": DAY, "audience": "owner"}, {"audience": "firm"}),
    "reporting:handover-keep": (Snapshot, {"audience": "owner"}, {"audience": "firm"}),
    **{
        f"qa:test-create?method={method}": (
            InfiltrationTest,
            (RING | {"spot": "gate"}) if method == TestMethod.RING else typed(method),
            {"spot": "yard"},
        )
        for method in TestMethod
    },
    "qa:inspection-create": (
        Inspection,
        {"inspected_on": DAY, "everything": "on"},
        {"inspected_on": "2024-07-03"},
    ),
    "qa:finding-create": (
        InspectionFinding,
        {"what": "Joints are empty.", "severity": "soon"},
        {"what": "Joints are half empty."},
    ),
    "qa:finding-correct": (
        InspectionFinding,
        {"what": "Empty joints.", "due_on": "2031-01-01", "severity": "soon", "reason": "Typo."},
        None,
    ),
    "qa:finding-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:remedy-file-create": (Attachment, FILE, {"caption": "Joint"}),
    "qa:remedy-create": (Remedy, {"what": "Filled up.", "done_by": "Crew 1", "done_on": DAY}, None),
    "qa:source-change-create": (
        SourceChange,
        {"kind": "stopped", "changed_on": DAY, "source": "bare_soil", "what": "Sown with grass."},
        {"what": "Mulched."},
    ),
    "maintenance:training-create": (Training, TRAINING, {"trained_by": "Somebody else"}),
    "maintenance:training-correct": (Training, TRAINING | {"reason": "Misspelt."}, None),
    "reporting:link-create": (SharedLink, {"for_whom": "City"}, {"for_whom": "County"}),
    "reporting:inspector-create": (SharedLink, {"for_whom": "City", "since": DAY}, {"for_whom": "County"}),
    "reporting:report-send": (Sending, SENT | {"since": DAY, "audience": "link"}, {"message": "Once more."}),
    "reporting:kept-send": (Sending, SENT, {"addresses": "other@city.example"}),
    "reporting:report-due": (Sending, SENT | {"since": DAY, "audience": "owner"}, None),
    "reporting:reference-verify": (
        VerifiedSource,
        {"edition": "edition 2021", "verified_by": "Vera", "verified_on": DAY},
        {"edition": "edition 2023"},
    ),
    "qa:rain-create": (RainRecord, {"name": "Yard", "time_zone": "UTC"}, {"name": "Roof"}),
    "planning:finding-plan": (VisitTask, {"visit_on": "2031-06-01"}, None),
    # A correction takes the place of the record once.
    "qa:test-correct": (InfiltrationTest, RING | {"spot": "gate", "reason": "Misread."}, None),
    "qa:entry-correct": (CheckEntry, FINDING | {"reason": "Misread."}, None),
    "qa:sieving-correct": (Sieving, SIEVING | {"reason": "Misread."}, None),
    "maintenance:cleaning-correct": (CleaningEvent, CLEANING | {"reason": "Other day."}, None),
}
# Nothing new is stored by these, whatever is sent.
# planning:advice-plan is sent for several rows at once (tests/planning/views/test_advice.py); a budget is only shown.
ELSEWHERE = {
    "api:token-create",  # behind the password: tests/api/views/test_tokens.py
    "qa:stage-record",  # a row a check: tests/qa/views/test_stages.py
    "maintenance:fit-create",
    "exchange:export-create",  # it changes no record: asked for twice, there are two archives of the same
    "exchange:restore-create",  # into a firm that has nothing: what came first makes the second be refused
    "planning:task-finish",
    "planning:task-rest-plan",  # of a task with something left: tests/planning/services/test_day_end.py
    "planning:task-test-plan",  # of a task with a cleaning: the same place
    "planning:advice-plan",
    "planning:budget-plan",
    "planning:quote-send",  # of a draft, which is one: tests/planning/views/test_quotes.py
}


@pytest.fixture
def firm(furnished):
    return furnished


def is_recording(route):
    return route.endswith(
        ("-create", "-send", "-record", "-recheck", "-keep", "-plan", "-correct", "-waive", "-not-needed")
    )


def test_no_form_that_records_is_left_out():
    asked = {route.partition("?")[0] for route in FORMS}

    assert {route for route in TABLE if is_recording(route)} - ELSEWHERE <= asked


@pytest.fixture
def place(firm):
    """The rows that forms are reached from, and what their choices stand for."""
    rows = firm.rows
    fresh = SurfaceFactory(site=firm.site)
    failed = CheckEntryFactory(
        construction_check=ConstructionCheckFactory(
            record=ConstructionCheck.objects.get(pk=rows["check"]).record
        ),
        outcome="failed",
    )
    CorrectiveWorkFactory(entry=failed)
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    return SimpleNamespace(firm=firm, rows=rows, fresh=fresh, failed=failed, finding=finding)


def url_of(place, route):
    name, _, query = route.partition("?")
    kind = TABLE[name][1]
    pk = place.rows[kind] if kind else None
    if name == "qa:construction-open":
        pk = place.fresh.pk
    elif kind == "finding":
        pk = place.finding.pk
    elif name == "qa:entry-recheck":
        pk = place.failed.pk
    elif name == "planning:quote-create":
        query = f"advice={place.rows['recommendation']}"
    return reverse(name, args=[pk] if pk else []) + (f"?{query}" if query else "")


def sent_by(place, route, fields):
    """What the browser sends: what is typed, and the choices of this firm."""
    chosen = {
        "qa:site-create": {"owner": str(place.firm.owner.pk)},
        "planning:quote-create": {"advice": str(place.rows["recommendation"]), "note": ""},
        "planning:visit-create": {"crew": str(place.rows["crew"])},
        "planning:finding-plan": {"crew": str(place.rows["crew"])},
        "planning:recommendation-plan": {"crew": str(place.rows["crew"])},
        "planning:task-create": {"surface": str(place.fresh.pk)},
    }.get(route, {})
    if route.startswith("reporting:") and ("addresses" in fields or "for_whom" in fields):
        chosen = {"ends_on": (TODAY + timedelta(days=30)).isoformat(), "units": "si"}
        chosen |= {"sites": str(place.firm.site.pk)} if route == "reporting:inspector-create" else {}
    if "photos" in fields:
        chosen = {"photos": SimpleUploadedFile("plan.pdf", PDF, "application/pdf")}
    if "sheets" in fields:
        chosen = {"sheets": SimpleUploadedFile("owners.csv", b"Name\nHarbour Homes\n")}
    return fields | chosen


def device_id_of(client, url):
    return str(client.get(url).context["form"]["device_id"].value())


@pytest.mark.parametrize("route", FORMS)
def test_what_is_sent_twice_is_stored_once(client, place, route):
    model, fields, _ = FORMS[route]
    url = url_of(place, route)
    client.force_login(place.firm.coordinator)
    once = {"device_id": device_id_of(client, url)}
    before = model.objects.count()

    answers = [client.post(url, sent_by(place, route, fields) | once) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302], answers[0].context["form"].errors
    assert model.objects.count() == before + 1
    assert answers[0].url == answers[1].url


@pytest.mark.parametrize("route", [route for route, spec in FORMS.items() if spec[2]])
def test_other_values_from_the_same_form_are_another_row(client, place, route):
    """By the browser's way back a form is shown as it was, its id with it: what is typed then must not be lost."""
    model, fields, other = FORMS[route]
    url = url_of(place, route)
    client.force_login(place.firm.coordinator)
    once = {"device_id": device_id_of(client, url)}
    client.post(url, sent_by(place, route, fields) | once)
    before = model.objects.count()

    answer = client.post(url, sent_by(place, route, fields | other) | once)

    assert answer.status_code == 302, answer.context["form"].errors
    assert model.objects.count() == before + 1


def test_a_task_that_is_finished_twice_keeps_its_first_words(client, place):
    url = reverse("planning:task-finish", args=[place.rows["task"]])
    client.force_login(place.firm.technician)

    answers = [client.post(url, {"finding": "Nothing to do."}) for _ in range(2)]

    assert answers[0].url == answers[1].url
    assert VisitTask.objects.get(pk=place.rows["task"]).finding == "Nothing to do."


def test_the_id_of_a_stored_row_stays_when_it_is_changed(client, place):
    client.force_login(place.firm.coordinator)
    create = reverse("qa:site-create")
    once = {"device_id": device_id_of(client, create)}
    client.post(create, sent_by(place, "qa:site-create", SITE) | once)
    site = Site.objects.get(name="New site")

    client.post(
        reverse("qa:site-edit", args=[site.pk]), SITE | {"owner": str(site.owner_id), "address": "1 Lane"}
    )
    changed = Site.objects.get(pk=site.pk)

    assert changed.address == "1 Lane"
    assert changed.device_id == site.device_id
