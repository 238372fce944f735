"""Smallest valid rows."""

from datetime import date, timedelta
from decimal import Decimal

import factory
from django.utils.timezone import now
from factory.django import DjangoModelFactory

from accounts.calc.roles import Role
from accounts.models import Membership, Organisation, Owner, OwnerPerson, User
from api.calc.scopes import Scope, ScopeSet
from api.models import ApiToken
from core.calc.paving import CleaningMethod
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.forecast_payload import ForecastOutlook, Range, RateCurve, RoundAgainstForecast
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.calc.site_plans import Topic, Trained, TrainingFacts
from maintenance.models import (
    CleaningAttachment,
    CleaningEvent,
    PriceList,
    Recommendation,
    SitePlan,
    Training,
)
from planning.calc.drive_file import DriveTimes
from planning.models import (
    Crew,
    CrewAbsence,
    DriveTable,
    Quote,
    QuoteLine,
    QuoteVersion,
    Visit,
    VisitTask,
    WorkPlan,
)
from qa.calc.buildups import typical_layers
from qa.calc.check_model import Criterion
from qa.calc.field_readings import FieldReadings
from qa.calc.gradation import BandLimits
from qa.calc.kept_layers import KeptLayers
from qa.calc.sieving import SieveReadings
from qa.calc.soil import SoilReadings, SoilRun
from qa.models import (
    Attachment,
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    InfiltrationTest,
    Inspection,
    InspectionFinding,
    KeptBuildUp,
    Layer,
    Location,
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
from qa.services.rounds import evaluate
from reporting.models import Sending, SharedLink, ThreadMessage, VerifiedSource
from tests.clock import SITE_ZONE, START, TODAY


def field_readings(entries):
    """Readings of another method than the ring, from one mapping with its runs under `runs`."""
    once = {key: value for key, value in entries.items() if key != "runs"}
    return FieldReadings(once, tuple(entries.get("runs", ())))


def small_outlook(**changes):
    """A forecast of a year from two points, with nothing measured or done before it."""
    days = (date(2026, 6, 1), date(2027, 6, 1))
    rates = (900.0, 800.0), (600.0, 500.0), (1400.0, 1300.0), (500.0, 400.0), (1700.0, 1600.0)
    curve = RateCurve(days, *rates)
    values = {
        "rate_now_mm_h": Range(900.0, 600.0, 1400.0, 500.0, 1700.0),
        "decline_percent_a_year": Range(12.0, 6.0, 20.0, 3.0, 25.0),
        "decline_percentile": 0.5,
        "past": curve,
        "future": curve,
        "below": (0.02, 0.05),
        "rounds": (),
        "gains": (),
        "options": (),
        "options_on": days[0],
    }
    return ForecastOutlook(**values | changes)


def round_against_forecast(measured_mm_h, expected_mm_h, pit_lo, pit_hi):
    """One past round with what had been expected of it."""
    expected = Range(*[expected_mm_h] * 5)
    return RoundAgainstForecast(date(2024, 1, 1), 3, measured_mm_h, expected, pit_lo, pit_hi)


class UserFactory(DjangoModelFactory):
    class Meta:
        model = User
        skip_postgeneration_save = True

    email = factory.Sequence(lambda n: f"person{n:05}@firm.example")
    password = factory.django.Password("a-long-password-1")


class OrganisationFactory(DjangoModelFactory):
    class Meta:
        model = Organisation

    name = factory.Sequence(lambda n: f"Firm {n:05}")


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = Membership

    organisation = factory.SubFactory(OrganisationFactory)
    user = factory.SubFactory(UserFactory)
    role = Role.ADMIN


class OwnerFactory(DjangoModelFactory):
    class Meta:
        model = Owner

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Owner {n:05}")


class OwnerPersonFactory(DjangoModelFactory):
    class Meta:
        model = OwnerPerson

    owner = factory.SubFactory(OwnerFactory)
    user = factory.SubFactory(UserFactory)


class ApiTokenFactory(DjangoModelFactory):
    """A token that may do everything its person may."""

    class Meta:
        model = ApiToken

    organisation = factory.SubFactory(OrganisationFactory)
    person = factory.SubFactory(UserFactory)
    name = factory.Sequence(lambda n: f"Program {n:05}")
    prefix = "rain_abc"
    token_hash = factory.Sequence(lambda n: f"{n:064}")
    scope_set = ScopeSet(tuple(Scope))
    expires_at = factory.LazyFunction(lambda: now() + timedelta(days=30))


class SiteFactory(DjangoModelFactory):
    class Meta:
        model = Site

    owner = factory.SubFactory(OwnerFactory)
    organisation = factory.SelfAttribute("owner.organisation")
    name = factory.Sequence(lambda n: f"Site {n:05}")
    time_zone = SITE_ZONE


class SurfaceFactory(DjangoModelFactory):
    class Meta:
        model = Surface

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Surface {n:05}")
    surface_type = "picp"
    area_m2 = 1000.0
    opened_on = date(2020, 5, 1)
    limit_mm_h = 250.0
    limit_source = "agreed"


class RainRecordFactory(DjangoModelFactory):
    class Meta:
        model = RainRecord

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Gauge {n:05}")


class OwnLimitFactory(DjangoModelFactory):
    class Meta:
        model = OwnLimit

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Own limit {n:05}")
    limit_mm_h = 300.0
    acceptance_mm_h = 2000.0
    source = "contract 7, clause 3"


class KeptBuildUpFactory(DjangoModelFactory):
    class Meta:
        model = KeptBuildUp

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Usual {n:05}")
    surface_type = "picp"
    layers = KeptLayers(typical_layers("picp"))


class VerifiedSourceFactory(DjangoModelFactory):
    class Meta:
        model = VerifiedSource

    organisation = factory.SubFactory(OrganisationFactory)
    citation = "15A NCAC 02H .1055"
    edition = "edition 2021"
    verified_by = "Vera Verifier"
    verified_on = date(2024, 2, 1)


class TrainingFactory(DjangoModelFactory):
    class Meta:
        model = Training

    site = factory.SubFactory(SiteFactory)
    trained_on = date(2024, 3, 1)
    trained_by = "Tom Trainer"
    facts = TrainingFacts((Trained("Carla Caretaker", "caretaker"),), (Topic.WINTER,), ("The gate",))


class SitePlanFactory(DjangoModelFactory):
    class Meta:
        model = SitePlan

    site = factory.SubFactory(SiteFactory)
    spread = "No sand."
    clearing = "Rubber edge, 15 mm."
    snow_stored = "On the lawn by the east gate."
    snow_kept_off = "Not on the yard."
    spill_first = "Close the valve."
    spill_calls = "Caretaker 555 0100"
    spill_never = "No hose."
    spill_after = "Test the rate."


class OwnBandFactory(DjangoModelFactory):
    class Meta:
        model = OwnBand

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Own band {n:05}")
    limits = BandLimits(((25.0, 90.0, 100.0), (4.75, 0.0, 10.0)))
    source = "pit sheet"


class LayerFactory(DjangoModelFactory):
    class Meta:
        model = Layer

    surface = factory.SubFactory(SurfaceFactory)
    position = factory.Sequence(lambda n: n + 1)
    kind = "base"
    material = "stone"
    thickness_mm = 100.0
    porosity = 0.4


class LocationFactory(DjangoModelFactory):
    class Meta:
        model = Location

    surface = factory.SubFactory(SurfaceFactory)
    label = factory.Sequence(lambda n: f"L{n:05}")


class SievingFactory(DjangoModelFactory):
    class Meta:
        model = Sieving

    surface = factory.SubFactory(SurfaceFactory)
    sampled_on = date(2024, 4, 1)
    designation = "8"
    readings = SieveReadings(((12.5, 100.0), (9.5, 92.0), (4.75, 20.0), (2.36, 4.0), (1.18, 2.0)))


class SoilTestFactory(DjangoModelFactory):
    class Meta:
        model = SoilTest

    surface = factory.SubFactory(SurfaceFactory)
    tested_on = date(2020, 3, 1)
    place = "North corner"
    readings = SoilReadings((SoilRun(200.0, 180.0, 60.0), SoilRun(200.0, 185.0, 60.0)))


class RoundFactory(DjangoModelFactory):
    class Meta:
        model = TestRound

    surface = factory.SubFactory(SurfaceFactory)
    tested_on = date(2024, 6, 1)
    hours_since_rain = 48.0


class InfiltrationTestFactory(DjangoModelFactory):
    class Meta:
        model = InfiltrationTest

    round = factory.SubFactory(RoundFactory)
    spot = factory.Sequence(lambda n: f"spot {n:05}")
    prewet_mass = 3.6
    prewet_time_s = 45.0
    start_delay_s = 60.0
    test_mass = 3.6
    ring_diameter = 300.0
    elapsed_s = 150.0

    @classmethod
    def _create(cls, model_class, *args, **kwargs):
        test = model_class(*args, **kwargs)
        evaluate(test)
        test.save()
        return test


class ConstructionRecordFactory(DjangoModelFactory):
    class Meta:
        model = ConstructionRecord

    surface = factory.SubFactory(SurfaceFactory)


class ConstructionCheckFactory(DjangoModelFactory):
    class Meta:
        model = ConstructionCheck

    record = factory.SubFactory(ConstructionRecordFactory)
    position = factory.Sequence(lambda n: n + 1)
    key = factory.Sequence(lambda n: f"check_{n}")
    stage = "base"
    asked = "The stone is clean."
    source_status = "common_practice"


class CheckEntryFactory(DjangoModelFactory):
    class Meta:
        model = CheckEntry

    construction_check = factory.SubFactory(ConstructionCheckFactory)
    done_on = date(2024, 3, 1)
    outcome = "passed"
    criterion = Criterion("The stone is clean.")


class CorrectiveWorkFactory(DjangoModelFactory):
    class Meta:
        model = CorrectiveWork

    entry = factory.SubFactory(CheckEntryFactory, outcome="failed")
    done_on = date(2024, 3, 2)
    what = "Taken out and laid again."
    done_by = "Crew 1"


class InspectionFactory(DjangoModelFactory):
    class Meta:
        model = Inspection

    surface = factory.SubFactory(SurfaceFactory)
    inspected_on = date(2024, 6, 1)


class InspectionFindingFactory(DjangoModelFactory):
    class Meta:
        model = InspectionFinding

    inspection = factory.SubFactory(InspectionFactory)
    item = "sediment"
    what = "Sand along the bed"
    advice = "Find where it comes from."
    due_on = date(2024, 7, 1)


class RemedyFactory(DjangoModelFactory):
    class Meta:
        model = Remedy

    finding = factory.SubFactory(InspectionFindingFactory)
    done_on = date(2024, 6, 10)
    what = "Kerb set along the bed."
    done_by = "Crew 1"


class SourceChangeFactory(DjangoModelFactory):
    class Meta:
        model = SourceChange

    surface = factory.SubFactory(SurfaceFactory)
    changed_on = date(2024, 6, 10)
    kind = "stopped"
    source = "Bed without a kerb"
    what = "Kerb set"


class CleaningFactory(DjangoModelFactory):
    class Meta:
        model = CleaningEvent

    surface = factory.SubFactory(SurfaceFactory)
    cleaned_on = date(2024, 7, 1)
    method = "vacuum"
    currency = "EUR"


class PriceListFactory(DjangoModelFactory):
    """A net list with 19 % VAT: sweeping by vacuum at 0.50 a m² and 200 at least, broom at 0.20 and 80."""

    class Meta:
        model = PriceList

    organisation = factory.SubFactory(OrganisationFactory)
    valid_from = date(2024, 1, 1)
    currency = factory.SelfAttribute("organisation.currency")
    tax_name = "VAT"
    tax_percent = Decimal(19)
    methods = MethodPrices(
        (
            MethodPrice(CleaningMethod.VACUUM, Decimal("0.50"), Decimal(200)),
            MethodPrice(CleaningMethod.BROOM, Decimal("0.20"), Decimal(80)),
            MethodPrice(CleaningMethod.JOINT_REFILL, Decimal("4.50"), Decimal(450)),
        )
    )
    test_price = Decimal(150)
    inspection_price = Decimal(90)
    call_out_price = Decimal(45)
    material_kg_price = Decimal("0.85")
    made_by = factory.SubFactory(UserFactory)


BECAUSE = Grounds(record_version=1, reasons=("Because.",))


class RecommendationFactory(DjangoModelFactory):
    class Meta:
        model = Recommendation

    surface = factory.SubFactory(SurfaceFactory)
    action = "clean"
    method = "vacuum"
    due_on = TODAY
    earliest_on = TODAY
    currency = "EUR"
    grounds = BECAUSE


class StoredFileFactory(DjangoModelFactory):
    class Meta:
        abstract = True

    content = factory.django.ImageField(width=4, height=3, format="JPEG")
    thumbnail = factory.django.ImageField(width=4, height=3, format="JPEG")
    media_type = "image/jpeg"
    size_bytes = 600
    width_px = 4
    height_px = 3
    original_name = "joint.jpg"


class AttachmentFactory(StoredFileFactory):
    class Meta:
        model = Attachment


class CleaningAttachmentFactory(StoredFileFactory):
    class Meta:
        model = CleaningAttachment

    cleaning = factory.SubFactory(CleaningFactory)


class ThreadMessageFactory(DjangoModelFactory):
    class Meta:
        model = ThreadMessage

    surface = factory.SubFactory(SurfaceFactory)
    owner = factory.SelfAttribute("surface.site.owner")
    from_owner = True
    text = "Does the puddle by the gate matter?"
    recorded_by = factory.SubFactory(UserFactory)


class CrewFactory(DjangoModelFactory):
    class Meta:
        model = Crew

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Crew {n:05}")


class CrewAbsenceFactory(DjangoModelFactory):
    class Meta:
        model = CrewAbsence

    crew = factory.SubFactory(CrewFactory)
    first_on = TODAY
    last_on = TODAY


class DriveTableFactory(DjangoModelFactory):
    class Meta:
        model = DriveTable
        django_get_or_create = ("organisation",)

    organisation = factory.SubFactory(OrganisationFactory)
    file_name = "drives.csv"
    sent_at = factory.LazyFunction(now)
    drives = DriveTimes()


class WorkPlanFactory(DjangoModelFactory):
    class Meta:
        model = WorkPlan

    organisation = factory.SubFactory(OrganisationFactory)
    first_on = TODAY


class VisitFactory(DjangoModelFactory):
    class Meta:
        model = Visit

    crew = factory.SubFactory(CrewFactory)
    organisation = factory.SelfAttribute("crew.organisation")
    visit_on = date(2031, 5, 1)


class QuoteFactory(DjangoModelFactory):
    class Meta:
        model = Quote

    owner = factory.SubFactory(OwnerFactory)
    organisation = factory.SelfAttribute("owner.organisation")
    year = TODAY.year
    number = factory.Sequence(lambda n: n + 1000)
    first_sent_at = START
    made_by = factory.SubFactory(UserFactory)


class QuoteVersionFactory(DjangoModelFactory):
    """A version that was sent, of 500 net and 95 of VAT."""

    class Meta:
        model = QuoteVersion

    quote = factory.SubFactory(QuoteFactory)
    version = 1
    state = "sent"
    valid_until = TODAY + timedelta(days=30)
    currency = "EUR"
    tax_name = "VAT"
    tax_percent = Decimal(19)
    prices_include_tax = False
    net, tax, total = Decimal(500), Decimal(95), Decimal(595)
    written_by = factory.SelfAttribute("quote.made_by")
    sent_by = factory.SelfAttribute("quote.made_by")
    sent_at = START
    decided_at = None
    decided_on = factory.LazyAttribute(lambda row: row.decided_at.date() if row.decided_at else None)


class QuoteLineFactory(DjangoModelFactory):
    class Meta:
        model = QuoteLine

    version = factory.SubFactory(QuoteVersionFactory)
    position = 1
    what = "Clean: vacuum sweeping"
    why = "It clogs."
    quantity = Decimal(1000)
    unit = "m2"
    unit_price = Decimal("0.50")
    recommendation = None
    method = factory.LazyAttribute(lambda line: line.recommendation.method_now if line.recommendation else "")
    advised_price = factory.LazyAttribute(
        lambda line: line.recommendation.cost if line.recommendation else None
    )


class SharedLinkFactory(DjangoModelFactory):
    """A link that opens for three months, without an address. Without a document it is given its organisation."""

    class Meta:
        model = SharedLink

    organisation = factory.SelfAttribute("document.organisation")
    for_whom = factory.Sequence(lambda n: f"inspector {n}")
    ends_on = factory.LazyFunction(lambda: now().date() + timedelta(days=90))
    expires_at = factory.LazyFunction(lambda: now() + timedelta(days=90))


class SendingFactory(DjangoModelFactory):
    """A sending of a document that waits."""

    class Meta:
        model = Sending

    organisation = factory.SelfAttribute("document.organisation")
    link = factory.SubFactory(SharedLinkFactory, document=factory.SelfAttribute("..document"))
    address = factory.Sequence(lambda n: f"reader{n}@owner.example")
    server = "http://testserver"


class VisitTaskFactory(DjangoModelFactory):
    class Meta:
        model = VisitTask

    visit = factory.SubFactory(VisitFactory)
    surface = factory.SubFactory(
        SurfaceFactory,
        site=factory.SubFactory(
            SiteFactory,
            owner=factory.SubFactory(
                OwnerFactory, organisation=factory.SelfAttribute("....visit.organisation")
            ),
        ),
    )
    action = "test"
