"""Who may open what: one line a route. `test_permissions.py` walks it and fails on a route that is missing."""

from datetime import date, timedelta
from types import SimpleNamespace

from django.core.files.base import ContentFile
from django.utils.timezone import localdate, now

from accounts.calc.notices import NoticeKind
from accounts.calc.roles import Role
from accounts.models import DigestMail, Invitation, Notice
from core.calc.jobs import JobState
from core.calc.secrets import hash_of
from exchange.calc.payloads import ImportReport, LearntColumns, Matching, SheetHead, SheetHeads, SheetMatch
from exchange.calc.steps import ImportStep
from exchange.models import ColumnTemplate, DataExport, DataImport, Restoration
from maintenance.models import Recommendation
from maintenance.services import releases
from planning.models import CalendarFeed, OwnerNotice, ToldDay
from reporting.models import DueReport, LinkOpening, MessageMail, ReportRoutine, SharedSite, Snapshot
from reporting.services.links import make_address
from tests.factories import (
    BECAUSE,
    ApiTokenFactory,
    AttachmentFactory,
    CheckEntryFactory,
    CleaningAttachmentFactory,
    CleaningFactory,
    ConstructionCheckFactory,
    ConstructionRecordFactory,
    CorrectiveWorkFactory,
    CrewAbsenceFactory,
    CrewFactory,
    DriveTableFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    KeptBuildUpFactory,
    MembershipFactory,
    OwnBandFactory,
    OwnerPersonFactory,
    OwnLimitFactory,
    PriceListFactory,
    QuoteLineFactory,
    RainRecordFactory,
    RemedyFactory,
    RoundFactory,
    SendingFactory,
    SharedLinkFactory,
    SievingFactory,
    SoilTestFactory,
    SourceChangeFactory,
    ThreadMessageFactory,
    TrainingFactory,
    VerifiedSourceFactory,
    VisitFactory,
    VisitTaskFactory,
    WorkPlanFactory,
)
from tests.fieldwork.factories import FieldEntryFactory, HeldEntryFactory

TOKEN = "the-secret-of-a-link"
ACTORS = ("anonymous", "outsider", "owner_person", "viewer", "technician", "coordinator", "admin")

# What each level of access answers, in the order of ACTORS. 302 for "anonymous" leads to the sign-in page.
READ = (302, 404, 200, 200, 200, 200, 200)  # the firm and the owner's people
READ_OF_FIRM = (302, 404, 403, 200, 200, 200, 200)  # the firm alone, on rows that owners see
RECORD_FIRM = (302, 404, 404, 403, 200, 200, 200)  # technicians and up, on rows that owners do not see
READ_FIRM = (302, 404, 404, 200, 200, 200, 200)  # the firm alone
RECORD = (302, 404, 403, 403, 200, 200, 200)  # technicians and up
PLAN = (302, 404, 403, 403, 403, 200, 200)  # coordinators and up
NONE_ASKED = (302, 404, 404, 404, 404, 404, 404)  # a part of a page, named by what the address asks
PLAN_FIRM = (302, 404, 404, 403, 403, 200, 200)  # the same, on rows that owners do not see
MINE = (302, 200, 200, 200, 200, 200, 200)  # everybody's own lists; a stranger's is empty
FIRM_PAGE = (302, 200, 403, 200, 200, 200, 200)  # the outsider sees a firm of their own
FIRM_RECORD = (302, 200, 403, 403, 200, 200, 200)
FIRM_PLAN = (302, 200, 403, 403, 403, 200, 200)
FIRM_ADMIN = (302, 200, 403, 403, 403, 403, 200)
POST_RECORD = (302, 404, 403, 403, 302, 302, 302)
POST_PLAN = (302, 404, 403, 403, 403, 302, 302)
POST_RECORD_FIRM = (302, 404, 404, 403, 302, 302, 302)
POST_PLAN_FIRM = (302, 404, 404, 403, 403, 302, 302)
ADMIN_FIRM = (302, 404, 404, 403, 403, 403, 200)
POST_OWN_FIRM_ADMIN = (302, 302, 403, 403, 403, 403, 302)
POST_ADMIN_FIRM = (302, 404, 404, 403, 403, 403, 302)
POST_OWN_FIRM_PLAN = (302, 302, 403, 403, 403, 302, 302)

# route: (method, the row its id names, expected answers)
TABLE = {
    "accounts:firm": ("get", None, FIRM_PAGE),
    "accounts:firm-found": ("get", None, MINE),
    "accounts:firm-settings": ("get", None, FIRM_ADMIN),
    "accounts:firm-switch": ("post", None, (302, 404, 404, 302, 302, 302, 302)),
    "accounts:member-invite": ("get", None, FIRM_ADMIN),
    "accounts:member-role": ("post", "membership", POST_ADMIN_FIRM),
    "accounts:member-remove": ("post", "membership", POST_ADMIN_FIRM),
    "accounts:owner-create": ("get", None, FIRM_PLAN),
    "accounts:owner-detail": ("get", "owner", READ),
    "accounts:owner-edit": ("get", "owner", PLAN),
    "accounts:owner-invite": ("get", "owner", PLAN),
    "accounts:owner-person-remove": ("post", "owner_link", POST_PLAN_FIRM),
    "accounts:invitation-revoke": ("post", "invitation", POST_ADMIN_FIRM),
    "accounts:invitation-renew": ("post", "invitation", POST_ADMIN_FIRM),
    "accounts:invitation-confirm": ("post", "invitation", POST_ADMIN_FIRM),
    "accounts:invitation-accept": ("get", "token", (200, 200, 200, 200, 200, 200, 200)),
    "accounts:me": ("get", None, MINE),
    "accounts:notice-list": ("get", None, MINE),
    "accounts:notice-open": ("get", "notice", (302, 404, 404, 404, 404, 404, 302)),  # the admin's own
    "accounts:notice-read-all": ("post", None, (302, 302, 302, 302, 302, 302, 302)),
    "accounts:notice-choose": ("get", None, MINE),
    "accounts:notice-stop": ("get", "token", (200, 200, 200, 200, 200, 200, 200)),
    "qa:site-create": ("get", None, FIRM_PLAN),
    "qa:site-edit": ("get", "site", PLAN),
    "qa:surface-create": ("get", "site", PLAN),
    "qa:surface-edit": ("get", "surface", PLAN),
    "qa:layer-edit": ("get", "surface", PLAN),
    "qa:layer-kept-drop": ("post", "kept_build_up", POST_PLAN_FIRM),
    "qa:location-edit": ("get", "surface", PLAN),
    "qa:plan-edit": ("get", "surface", PLAN),
    "qa:round-create": ("get", "surface", RECORD),
    "qa:round-detail": ("get", "round", READ),
    "qa:round-amend": ("get", "round", RECORD),
    "qa:round-void": ("get", "round", RECORD),
    "qa:test-create": ("get", "round", RECORD),
    "qa:test-detail": ("get", "test", READ),
    "qa:test-correct": ("get", "test", RECORD),
    "qa:test-void": ("get", "test", RECORD),
    "qa:rule-list": ("get", None, FIRM_PAGE),
    "qa:own-limit-create": ("get", None, FIRM_PLAN),
    "qa:own-limit-edit": ("get", "own_limit", PLAN_FIRM),
    "qa:own-limit-retire": ("post", "own_limit", POST_PLAN_FIRM),
    "qa:construction-detail": ("get", "surface", READ),
    "qa:construction-open": ("get", "surface", RECORD),
    "qa:check-create": ("get", "surface", RECORD),
    "qa:check-detail": ("get", "check", READ),
    "qa:stage-record": ("get", "check", RECORD),
    "qa:check-record": ("get", "check", RECORD),
    "qa:check-waive": ("get", "check", PLAN),
    "qa:check-not-needed": ("get", "check", RECORD),
    "qa:check-edit": ("get", "check", PLAN),
    "qa:entry-correct": ("get", "entry", RECORD),
    "qa:entry-void": ("get", "entry", RECORD),
    "qa:work-create": ("get", "entry", RECORD),
    "qa:entry-recheck": ("get", "entry", RECORD),
    "qa:work-void": ("get", "work", RECORD),
    "qa:own-band-create": ("get", None, FIRM_PLAN),
    "qa:own-band-edit": ("get", "own_band", PLAN_FIRM),
    "qa:own-band-retire": ("post", "own_band", POST_PLAN_FIRM),
    "qa:water-detail": ("get", "surface", READ),
    "qa:soil-test-create": ("get", "surface", RECORD),
    "qa:soil-test-void": ("get", "soil_test", RECORD),
    "qa:gradation-detail": ("get", "surface", READ),
    "qa:sieving-create": ("get", "surface", RECORD),
    "qa:sieving-detail": ("get", "sieving", READ),
    "qa:sieving-correct": ("get", "sieving", RECORD),
    "qa:sieving-void": ("get", "sieving", RECORD),
    "qa:inspection-create": ("get", "surface", RECORD),
    "qa:inspection-detail": ("get", "inspection", READ),
    "qa:inspection-void": ("get", "inspection", RECORD),
    "qa:finding-create": ("get", "inspection", RECORD),
    "qa:finding-detail": ("get", "finding", READ),
    "qa:finding-correct": ("get", "finding", RECORD),
    "qa:finding-void": ("get", "finding", RECORD),
    "qa:finding-file-create": ("get", "finding", RECORD),
    "qa:remedy-create": ("get", "finding", RECORD),
    "qa:remedy-void": ("get", "remedy", RECORD),
    "qa:remedy-file-create": ("get", "remedy", RECORD),
    "qa:source-change-create": ("get", "surface", RECORD),
    "qa:source-change-detail": ("get", "source_change", READ),
    "qa:source-change-void": ("get", "source_change", RECORD),
    "qa:surface-file-create": ("get", "surface", RECORD),
    "qa:round-file-create": ("get", "round", RECORD),
    "qa:test-file-create": ("get", "test", RECORD),
    "qa:entry-file-create": ("get", "entry", RECORD),
    "qa:work-file-create": ("get", "work", RECORD),
    "qa:file-show": ("get", "file", READ),
    "qa:file-thumbnail": ("get", "file", READ),
    "qa:file-void": ("get", "file", RECORD),
    "reporting:handover-show": ("get", "surface", READ),
    "reporting:handover-download": ("get", "surface", READ),
    "reporting:certificate-download": ("get", "round", READ),
    "reporting:quote-download": ("get", "quote", READ),
    "reporting:handover-keep": ("get", "surface", PLAN),
    "reporting:kept-show": ("get", "kept", READ),
    "reporting:kept-download": ("get", "kept", READ),
    # Which drawing is part of what is asked; those that there are: tests/reporting/views/test_drawings.py.
    "reporting:report-drawing": ("get", "site", NONE_ASKED),
    "reporting:kept-drawing": ("get", "kept", NONE_ASKED),
    "reporting:shared-drawing": ("get", "shared", (404, 404, 404, 404, 404, 404, 404)),
    "reporting:kept-void": ("get", "kept", PLAN),
    "reporting:kept-send": ("get", "kept", PLAN),
    "reporting:link-create": ("get", "kept", PLAN),
    "reporting:link-list": ("get", None, FIRM_PLAN),
    "reporting:inspector-create": ("get", None, FIRM_PLAN),
    "reporting:link-detail": ("get", "link", PLAN_FIRM),
    "reporting:link-address": (
        "post",
        "link",
        (302, 404, 404, 403, 403, 200, 200),
    ),  # shown on the page itself
    "reporting:link-revoke": ("post", "link", POST_PLAN_FIRM),
    "reporting:sending-list": ("get", None, FIRM_PLAN),
    "reporting:sending-again": ("post", "sending", POST_PLAN_FIRM),
    "reporting:report-send": ("get", "site", PLAN),
    "reporting:report-due": ("get", "due", PLAN_FIRM),
    "reporting:report-due-skip": ("post", "due", POST_PLAN_FIRM),
    "reporting:report-routine-end": ("post", "routine", POST_PLAN_FIRM),
    # The secret is the permission; which wrong ones are refused: tests/reporting/views/test_shared_pages.py.
    "reporting:shared-show": ("get", "shared", (200, 200, 200, 200, 200, 200, 200)),
    "reporting:shared-paper": ("get", "shared", (200, 200, 200, 200, 200, 200, 200)),
    "reporting:shared-certificate": ("get", "shared", (404, 404, 404, 404, 404, 404, 404)),  # names no round
    "reporting:shared-rows": ("get", "shared_sites", (200, 200, 200, 200, 200, 200, 200)),
    "reporting:message-create": ("get", "surface", (302, 404, 200, 403, 200, 200, 200)),
    "reporting:message-void": ("get", "message", (302, 404, 200, 403, 403, 403, 403)),  # who wrote it
    "reporting:message-settle": ("post", "message", POST_RECORD),
    "maintenance:cleaning-file-create": ("get", "cleaning", RECORD),
    "maintenance:cleaning-file-show": ("get", "cleaning_file", READ),
    "maintenance:cleaning-file-thumbnail": ("get", "cleaning_file", READ),
    "maintenance:cleaning-file-void": ("get", "cleaning_file", RECORD),
    "reporting:reference-list": ("get", None, FIRM_PAGE),
    "reporting:reference-verify": ("get", "source", FIRM_PLAN),
    "reporting:reference-withdraw": ("get", "verified_source", PLAN_FIRM),
    "maintenance:site-plan-edit": ("get", "site", PLAN),
    "maintenance:training-create": ("get", "site", RECORD),
    "maintenance:training-detail": ("get", "training", READ),
    "maintenance:training-correct": ("get", "training", RECORD),
    "maintenance:training-void": ("get", "training", RECORD),
    "reporting:start": ("get", None, MINE),
    "maintenance:surface-list": ("get", None, MINE),
    "reporting:surface-detail": ("get", "surface", READ),
    "reporting:forecast-progress": ("get", "surface", READ),
    "maintenance:surface-refresh": ("post", "surface", POST_RECORD),
    "maintenance:care-detail": ("get", "surface", READ_OF_FIRM),
    "maintenance:care-value": ("get", "surface", PLAN),
    "reporting:site-detail": ("get", "site", READ),
    "planning:agreement-edit": ("get", "site", PLAN),
    "reporting:report-site": ("get", "site", READ),
    "reporting:report-download": ("get", "site", READ),
    "reporting:report-keep": ("get", "site", PLAN),
    "reporting:report-list": ("get", None, MINE),
    "reporting:portfolio-show": ("get", None, MINE),
    "reporting:start-steps": ("get", None, FIRM_PAGE),
    "reporting:handbook-show": ("get", None, MINE),
    "reporting:handbook-download": ("get", None, MINE),
    "reporting:search-show": ("get", None, MINE),
    "reporting:search-opened": ("get", None, MINE),
    "maintenance:cleaning-create": ("get", "surface", RECORD),
    "maintenance:cleaning-detail": ("get", "cleaning", READ),
    "maintenance:cleaning-correct": ("get", "cleaning", RECORD),
    "maintenance:cleaning-void": ("get", "cleaning", RECORD),
    "planning:recommendation-detail": ("get", "recommendation", READ_FIRM),
    "planning:recommendation-plan": ("get", "recommendation", PLAN_FIRM),
    "planning:recommendation-decline": ("get", "recommendation", PLAN_FIRM),
    # With nothing chosen they lead back; what may be chosen is in tests/planning/views/test_advice.py.
    "planning:advice-plan": ("get", None, POST_OWN_FIRM_PLAN),
    "planning:advice-put-off": ("get", None, POST_OWN_FIRM_PLAN),
    "planning:advice-decline": ("get", None, POST_OWN_FIRM_PLAN),
    "planning:advice-release": ("get", None, POST_OWN_FIRM_PLAN),
    "maintenance:recommendation-why": ("get", "recommendation", READ_FIRM),
    "planning:budget-plan": ("get", None, FIRM_PAGE),
    "planning:cost-show": ("get", None, FIRM_PAGE),
    "planning:quote-list": ("get", None, MINE),
    "planning:quote-create": ("get", None, POST_OWN_FIRM_PLAN),
    "planning:quote-detail": ("get", "quote", READ),
    "planning:quote-edit": ("get", "quote", PLAN),
    "planning:quote-send": ("post", "quote", POST_PLAN),
    "planning:quote-withdraw": ("post", "quote", POST_PLAN),
    "planning:quote-write-down": ("get", "quote", PLAN),
    "planning:quote-answer": (
        "get",
        "quote",
        (302, 404, 200, 403, 403, 403, 403),
    ),  # nobody of the firm answers
    "planning:learning-show": ("get", None, FIRM_PAGE),
    "planning:due-list": ("get", None, FIRM_PAGE),
    "planning:release-list": ("get", None, FIRM_PAGE),
    "planning:release-detail": ("get", "release", READ),
    "planning:release-withdraw": ("get", "release", PLAN),
    "planning:finding-plan": ("get", "finding", PLAN),
    "planning:visit-list": ("get", None, FIRM_PAGE),
    "planning:calendar-show": ("get", None, MINE),
    "planning:feed-list": ("get", None, MINE),
    "planning:own-feed-make": (
        "post",
        None,
        (302, 200, 200, 200, 200, 200, 200),
    ),  # the page itself shows the address
    "planning:own-feed-revoke": ("post", None, (302, 302, 302, 302, 302, 302, 302)),
    "planning:crew-feed-make": ("post", "crew", (302, 404, 404, 403, 403, 200, 200)),
    "planning:crew-feed-revoke": ("post", "crew", POST_PLAN_FIRM),
    "planning:feed-show": ("get", "token", (200, 200, 200, 200, 200, 200, 200)),
    "reporting:surface-field-sheet": ("get", "surface", RECORD),
    "reporting:round-field-sheet": ("get", "round", RECORD),
    # What scripts send: 401 in place of the sign-in page. Who may record what is told by the entry's own form, to which
    # it is led; nothing readable is sent here: tests/fieldwork/views.
    "fieldwork:field-entry": ("put", "field_entry", (401, 400, 400, 400, 400, 400, 400)),
    "fieldwork:field-contact": ("post", None, (401, 400, 400, 400, 400, 400, 400)),
    "fieldwork:phone-list": ("get", None, (302, 200, 403, 403, 200, 200, 200)),  # technicians: their own
    "fieldwork:phone-settle": ("get", "held_entry", PLAN_FIRM),
    "fieldwork:phone-take-in": ("get", None, FIRM_PLAN),
    "fieldwork:field-who": ("get", None, (401, 200, 200, 200, 200, 200, 200)),
    "fieldwork:phone-show": ("get", None, MINE),
    "fieldwork:page-list": ("get", None, (302, 200, 403, 403, 200, 200, 200)),
    "fieldwork:blank-test": ("get", "surface", RECORD),
    "fieldwork:field-worker": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "reporting:day-own": ("get", None, FIRM_PAGE),
    "reporting:todo-list": ("get", None, FIRM_PAGE),
    "planning:crew-day": ("get", "crew", READ_FIRM),
    # And for who goes out with the crew: tests/reporting/views/test_crew_days.py.
    "reporting:visit-paper": ("get", "visit", (302, 404, 404, 403, 403, 200, 200)),
    "planning:visit-create": ("get", None, FIRM_PLAN),
    "planning:visit-detail": ("get", "visit", READ_FIRM),
    "planning:visit-edit": ("get", "visit", PLAN_FIRM),
    "planning:visit-cancel": ("get", "visit", PLAN_FIRM),
    "planning:task-create": ("get", "visit", PLAN_FIRM),
    "planning:task-remove": ("post", "task", POST_PLAN),
    "planning:task-finish": ("get", "task", RECORD),
    "qa:rain-list": ("get", None, FIRM_PAGE),
    "qa:rain-create": ("get", None, FIRM_PLAN),
    "qa:rain-detail": ("get", "rain", READ_FIRM),
    "qa:rain-edit": ("get", "rain", PLAN_FIRM),
    "qa:rain-add": ("get", "rain", PLAN_FIRM),
    "planning:day-unworkable": ("get", None, FIRM_PLAN),
    "planning:visit-tell": ("get", "visit", (302, 404, 404, 403, 200, 200, 200)),
    "planning:task-rest-plan": ("get", "task", PLAN),
    "planning:task-rest-give-up": ("get", "task", PLAN),
    "planning:task-test-plan": ("get", "task", PLAN),
    "planning:proposal-list": ("get", None, FIRM_PLAN),
    "planning:proposal-create": ("get", None, FIRM_PLAN),
    "planning:proposal-detail": ("get", "plan", PLAN_FIRM),
    "planning:proposal-progress": ("get", "plan", PLAN_FIRM),
    "planning:proposal-stop": ("post", "plan", POST_PLAN_FIRM),
    "planning:proposal-accept": ("post", "plan", POST_PLAN_FIRM),
    "planning:proposal-move": ("post", "plan", POST_PLAN_FIRM),
    "planning:drive-table": ("get", None, FIRM_ADMIN),
    "planning:drive-table-remove": ("post", "drives", POST_ADMIN_FIRM),
    "planning:crew-detail": ("get", "crew", READ_FIRM),
    "planning:crew-work": ("get", "crew", PLAN_FIRM),
    "planning:absence-create": ("get", "crew", PLAN_FIRM),
    "planning:absence-remove": ("post", "absence", POST_PLAN_FIRM),
    "planning:crew-create": ("get", None, FIRM_PLAN),
    "planning:crew-edit": ("get", "crew", PLAN_FIRM),
    "maintenance:method-terms": ("get", None, FIRM_PLAN),
    "maintenance:price-list": ("get", None, FIRM_PAGE),
    "maintenance:price-create": ("get", None, FIRM_PLAN),
    "maintenance:price-detail": ("get", "price_list", READ_FIRM),
    "maintenance:calibration": ("get", None, FIRM_PAGE),
    "maintenance:fit-progress": ("get", None, FIRM_PAGE),
    "maintenance:fit-create": ("post", None, POST_OWN_FIRM_PLAN),
    "exchange:import-list": ("get", None, FIRM_RECORD),
    "exchange:import-sample": ("get", None, FIRM_RECORD),
    "exchange:import-detail": ("get", "data_import", RECORD_FIRM),
    "exchange:import-progress": ("get", "data_import", RECORD_FIRM),
    "exchange:import-match": ("get", "data_import", RECORD_FIRM),
    "exchange:import-remarks": ("get", "data_import", RECORD_FIRM),
    "exchange:import-store": ("post", "data_import", POST_PLAN_FIRM),  # of owners
    "exchange:import-discard": ("post", "data_import", POST_RECORD_FIRM),
    "exchange:export-list": ("get", None, FIRM_ADMIN),
    "exchange:export-create": ("post", None, POST_OWN_FIRM_ADMIN),
    "exchange:export-progress": ("get", "data_export", ADMIN_FIRM),
    "exchange:export-download": ("get", "data_export", POST_ADMIN_FIRM),  # asks first who is there
    "exchange:export-remove": ("post", "data_export", POST_ADMIN_FIRM),
    "exchange:restore-create": ("get", None, FIRM_ADMIN),
    "glossary": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "api:token-list": ("get", None, MINE),
    "api:token-create": ("get", None, (302, 302, 302, 302, 302, 302, 302)),  # asks for the password first
    "api:token-end": ("post", "api_token", POST_ADMIN_FIRM),
    "api:docs": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "api:schema": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "operations:job-list": ("get", None, FIRM_ADMIN),
    "operations:trail-list": ("get", None, FIRM_ADMIN),
    "operations:job-again": ("post", "failed_job", POST_ADMIN_FIRM),
    "operations:live": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "operations:ready": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "operations:metrics": ("get", None, (404, 404, 404, 404, 404, 404, 404)),  # none has the secret
    "health": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
    "manifest": ("get", None, (200, 200, 200, 200, 200, 200, 200)),
}

# What programs ask with a token that has every scope: 401 without one, else by the role of its person.
API_MINE = (401, 200, 200, 200, 200, 200, 200)
API_READ = (401, 404, 200, 200, 200, 200, 200)
API_READ_FIRM = (401, 404, 404, 200, 200, 200, 200)  # the firm alone
# route: (address, the row its id names, expected answers)
API_READS = {
    "api:me": ("/api/me", None, API_MINE),
    "api:owner-list": ("/api/owners", None, API_MINE),
    "api:site-list": ("/api/sites", None, API_MINE),
    "api:site": ("/api/sites/{}", "site", API_READ),
    "api:surface-list": ("/api/surfaces", None, API_MINE),
    "api:surface": ("/api/surfaces/{}", "surface", API_READ),
    "api:round-list": ("/api/rounds", None, API_MINE),
    "api:round": ("/api/rounds/{}", "round", API_READ),
    "api:test-list": ("/api/tests", None, API_MINE),
    "api:test": ("/api/tests/{}", "test", API_READ),
    "api:cleaning-list": ("/api/cleanings", None, API_MINE),
    "api:cleaning": ("/api/cleanings/{}", "cleaning", API_READ),
    "api:inspection-list": ("/api/inspections", None, API_MINE),
    "api:inspection": ("/api/inspections/{}", "inspection", API_READ),
    "api:visit-list": ("/api/visits", None, API_MINE),
    "api:visit": ("/api/visits/{}", "visit", API_READ),
    "api:forecast-list": ("/api/forecasts", None, API_MINE),
    "api:forecast": ("/api/forecasts/{}", "forecast", API_READ),
    "api:recommendation-list": ("/api/recommendations", None, API_MINE),
    # An owner's people read what was released of it, under the id of the release.
    "api:recommendation": ("/api/recommendations/{}", "recommendation", API_READ_FIRM),
    "api:report-list": ("/api/reports", None, API_MINE),
    "api:report": ("/api/reports/{}", "kept", API_READ),
}
# What they store on rows of the firm; a stranger's body names rows that are not there for them.
API_RECORD = (401, 422, 403, 403, 201, 201, 201)
API_PLAN = (401, 422, 403, 403, 403, 201, 201)
API_WRITES = {
    "sites": API_PLAN,
    "surfaces": API_PLAN,
    "rounds": API_RECORD,
    "tests": API_RECORD,
    "cleanings": API_RECORD,
    "inspections": API_RECORD,
}

# Routes whose answers the packages behind them decide.
ELSEWHERE = ("account_", "mfa_", "usersessions_", "admin:")


def _rain_of(firm: SimpleNamespace) -> object:
    """A rain record with an hour of rain on it."""
    record = RainRecordFactory(organisation=firm.organisation)
    hour = {"begins_at": now() - timedelta(hours=1), "ends_at": now()}
    record.falls.create(depth_mm=1.0, **hour)
    record.covers.create(**hour)
    return record.pk


def _told(firm: SimpleNamespace, today: date) -> Notice:
    """What the admin was told of a surface, and a daily mail with the secret that ends such mails."""
    mails = DigestMail.objects.filter(user=firm.admin)
    mails.update(stop_hash=hash_of("of the first"))
    on = today + timedelta(days=mails.count())
    DigestMail.objects.create(
        organisation=firm.organisation, user=firm.admin, on=on, due_at=now(), stop_hash=hash_of(TOKEN)
    )
    return Notice.objects.create(
        user=firm.admin,
        organisation=firm.organisation,
        kind=NoticeKind.LIMIT.value,
        least_role=Role.VIEWER,
        about_model="qa.Surface",
        about_id=firm.surface.pk,
        text="It is below its limit.",
        path=firm.surface.get_absolute_url(),
        in_app=True,
        by_mail=True,
    )


def _shared(firm: SimpleNamespace, document: Snapshot) -> dict[str, object]:
    """A link to a document and one to the firm's site, both opened once, and a sending of the document."""
    to_document = SharedLinkFactory(document=document)
    to_sites = SharedLinkFactory(document=None, organisation=firm.organisation, since=document.until)
    SharedSite.objects.create(link=to_sites, site=firm.site, owner=firm.owner)
    LinkOpening.objects.create(link=to_sites, part="page", opened_at=now())
    return {
        "link": to_sites.pk,
        "shared": make_address(link=to_document, to=firm.admin),
        "shared_sites": make_address(link=to_sites, to=firm.admin),
        "sending": SendingFactory(document=document, state="failed").pk,
    }


def _in_and_out(firm: SimpleNamespace) -> dict[str, object]:
    """Sheets that were looked through, an archive, and one that was brought back."""
    mine = {"organisation": firm.organisation, "made_by": firm.admin, "state": JobState.DONE}
    ColumnTemplate.objects.get_or_create(
        organisation=firm.organisation, kind="owners", defaults={"columns_json": LearntColumns().to_json()}
    )
    Restoration.objects.create(rows=1, **mine)
    heads = SheetHeads((SheetHead("Owners", ("Name",), (("Harbour Homes",),), 1),))
    matching = Matching((SheetMatch("owners", ("name",)),))
    row = DataImport(step=ImportStep.CHECKING, names="owners.csv", heads=heads, matching=matching, **mine)
    row.report = ImportReport()
    row.save()
    export = DataExport(rows=1, size_bytes=4, **mine)
    export.content.save("", ContentFile(b"made"), save=True)
    failed = DataExport.objects.create(**mine | {"state": JobState.FAILED})
    return {"data_import": row.pk, "data_export": export.pk, "failed_job": f"export-{failed.pk}"}


def rows_of(firm: SimpleNamespace) -> dict[str, object]:
    """The id that each kind of row in TABLE stands for, all within one firm."""
    from accounts.calc.audience import Audience
    from reporting.calc.source_list import listed_sources
    from reporting.services.kept import freeze_handover

    crew = CrewFactory(organisation=firm.organisation)
    visit = VisitFactory(crew=crew)
    CalendarFeed.objects.create(
        organisation=firm.organisation,
        crew=crew,
        secret_hash=hash_of(TOKEN),
        made_at=now(),
        made_by=firm.admin,
    )
    reader = firm.owner.people.first() or OwnerPersonFactory(owner=firm.owner)
    notice, _ = OwnerNotice.objects.get_or_create(reader=reader, defaults={"due_at": now()})
    ToldDay.objects.create(notice=notice, visit=visit, told_on=visit.visit_on, told_at=now())
    round_ = RoundFactory(surface=firm.surface)
    today = localdate()
    told = _told(firm, today)
    invitation = Invitation.objects.create(
        organisation=firm.organisation,
        email="new@firm.example",
        token_hash=hash_of(TOKEN),
        invited_by=firm.admin,
        expires_at=now() + timedelta(days=3),
    )
    advice = Recommendation.objects.create(
        surface=firm.surface,
        action="test",
        due_on=today,
        earliest_on=today,
        currency="EUR",
        grounds=BECAUSE,
    )
    (release,) = releases.release(recommendations=[advice], by=firm.admin)
    quote = QuoteLineFactory(
        version__quote__owner=firm.owner,
        version__quote__made_by=firm.admin,
        surface=firm.surface,
        site=firm.site,
    ).version
    record = ConstructionRecordFactory(surface=firm.surface)
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    check = ConstructionCheckFactory(record=record)
    entry = CheckEntryFactory(construction_check=check, outcome="failed")
    kept = freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.admin)
    routine = ReportRoutine.objects.create(site=firm.site, owner=firm.owner, document=kept, set_by=firm.admin)
    message = ThreadMessageFactory(surface=firm.surface, recorded_by=reader.user)
    MessageMail.objects.create(message=message, to=firm.admin, link="https://office.example/", due_at=now())
    return {
        **_shared(firm, kept),
        "field_entry": FieldEntryFactory(organisation=firm.organisation, person=firm.admin).pk,
        "held_entry": HeldEntryFactory(phone__organisation=firm.organisation, phone__person=firm.admin).pk,
        **_in_and_out(firm),
        "due": DueReport.objects.create(site=firm.site, month=today.replace(day=1), since=today).pk,
        "routine": routine.pk,
        "kept": kept.pk,
        "message": message.pk,
        "notice": told.pk,
        "quote": quote.pk,
        "price_list": PriceListFactory(organisation=firm.organisation, made_by=firm.admin).pk,
        "source": listed_sources()[0].key,
        "verified_source": VerifiedSourceFactory(organisation=firm.organisation).pk,
        "training": TrainingFactory(site=firm.site).pk,
        "inspection": finding.inspection.pk,
        "finding": finding.pk,
        "remedy": RemedyFactory(finding=finding).pk,
        "source_change": SourceChangeFactory(surface=firm.surface).pk,
        "check": check.pk,
        "file": AttachmentFactory(entry=entry).pk,
        "cleaning_file": CleaningAttachmentFactory(cleaning__surface=firm.surface).pk,
        "entry": entry.pk,
        "work": CorrectiveWorkFactory(entry=entry).pk,
        "membership": MembershipFactory(organisation=firm.organisation).pk,
        "api_token": ApiTokenFactory(organisation=firm.organisation, person=firm.admin).pk,
        "owner": firm.owner.pk,
        "owner_link": OwnerPersonFactory(owner=firm.owner).pk,
        "invitation": invitation.pk,
        "token": TOKEN,
        "own_band": OwnBandFactory(organisation=firm.organisation).pk,
        "soil_test": SoilTestFactory(surface=firm.surface).pk,
        "sieving": SievingFactory(surface=firm.surface).pk,
        "rain": _rain_of(firm),
        "kept_build_up": KeptBuildUpFactory(organisation=firm.organisation).pk,
        "own_limit": OwnLimitFactory(organisation=firm.organisation).pk,
        "site": firm.site.pk,
        "surface": firm.surface.pk,
        "round": round_.pk,
        "test": InfiltrationTestFactory(round=round_).pk,
        "cleaning": CleaningFactory(surface=firm.surface).pk,
        "recommendation": advice.pk,
        "release": release.pk,
        "crew": crew.pk,
        "absence": CrewAbsenceFactory(crew=crew).pk,
        "plan": WorkPlanFactory(organisation=firm.organisation).pk,
        "drives": DriveTableFactory(organisation=firm.organisation).pk,
        "visit": visit.pk,
        "task": VisitTaskFactory(visit=visit, surface=firm.surface).pk,
    }
