"""Puts the invented firm into the database, through the same services people use."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from zlib import crc32

from django.db import transaction
from django.utils.timezone import localdate, now

from accounts.models import Membership, Organisation, Owner, OwnerPerson, User
from accounts.services.people import found_organisation
from core.calc.months import Months
from core.calc.paving import CleaningMethod, SurfaceType
from core.models.rows import validate_and_save
from demo.calc.place import (
    CREWS,
    FIRM,
    LIMITS,
    OWN_LIMIT,
    OWNER_PERSON,
    PASSWORD,
    PEOPLE,
    SIEVED,
    SIEVINGS,
    SITES,
    TIME_ZONE,
    WATER,
    DemoSite,
    DemoSurface,
)
from demo.calc.shapes import plan_of, spots_on
from demo.calc.years import CARE_YR, CleaningDone, Reading, RoundDone, live_through
from demo.services import building, inspecting, phones, quoting, telling, weather
from maintenance.calc.costs import cleaning_cost
from maintenance.calc.vocabulary import Action, Wetness
from maintenance.models import CleaningEvent, Recommendation
from maintenance.selectors.care import plain_terms
from maintenance.services import cleanings, fits, recommendations, releases
from planning.models import Agreement, Crew, Visit, VisitTask
from planning.services import crews, visits
from qa.calc.buildups import typical_layers
from qa.calc.ring import Ending
from qa.calc.rounds import Purpose
from qa.calc.sieving import SieveReadings
from qa.models import (
    InfiltrationTest,
    InspectionFinding,
    Layer,
    Location,
    OwnLimit,
    Sieving,
    Site,
    Surface,
    TestRound,
)
from qa.services import limits, plans, register, rounds, sievings

SEED = 20_240
JOINT_KG_M2 = 9.0


@dataclass(frozen=True, slots=True)
class Staff:
    admin: User
    coordinator: User
    technician: User


def demo_exists() -> bool:
    """Whether the invented firm is already there."""
    return Organisation.objects.filter(name=FIRM).exists()


def load_demo(today: date | None = None, say: Callable[[str], object] = lambda words: None) -> Organisation:
    """Make the firm, five years of records, a fit of its portfolio, and visits to come.

    say: is told how far it is.
    """
    today = today or localdate()
    with transaction.atomic():
        firm, staff = _people()
        # Asked for first, it is made first after the commit; then each forecast is made once, with it.
        fits.request_fit(organisation=firm, night=now().date())
        quoting.price_lists(firm, today, staff.coordinator)
        _records(firm, staff, today, say)
        teams = _crews(firm, staff)
        say("The records are written. The forecasts are being worked out.")
    say("The forecasts are made. The visits are being planned.")
    with transaction.atomic():
        _past_visits(firm, teams[0], staff, today)
        weather.tell_hours(firm, SEED)
        _coming_visits(firm, teams, staff, today)
        quoting.quote(firm, teams[1], today, staff.coordinator)
        telling.tell(firm, staff.coordinator)
        phones.phones(firm, staff.technician, now(), SEED)
    return firm


def _records(firm: Organisation, staff: Staff, today: date, say: Callable[[str], object]) -> None:
    owners = _owners(firm)
    _own_limit(firm)
    for number, spec in enumerate(SITES, start=1):
        _site(firm, owners[spec.owner], spec, staff, today)
        say(f"{number} of {len(SITES)} sites are recorded.")
    _sievings(firm, staff)
    building.build(firm, today, staff.coordinator, staff.technician)
    inspecting.inspect(firm, today, staff.technician)
    weather.gauge(firm, today, SEED)
    _mishaps(firm, staff)


def _people() -> tuple[Organisation, Staff]:
    users = [User.objects.create_user(email, PASSWORD, full_name=name) for email, name, _ in PEOPLE]
    firm = found_organisation(by=users[0], name=FIRM, currency="EUR")
    for user, (_, _, role) in list(zip(users, PEOPLE, strict=True))[1:]:
        validate_and_save(Membership(organisation=firm, user=user, role=role))
    return firm, Staff(users[0], users[1], users[2])


def _owners(firm: Organisation) -> dict[str, Owner]:
    owners = {}
    for name in sorted({spec.owner for spec in SITES}):
        owners[name] = Owner(organisation=firm, name=name, address="Ossenfell (invented)")
        validate_and_save(owners[name])
    person = User.objects.create_user(OWNER_PERSON[0], PASSWORD, full_name=OWNER_PERSON[1])
    for name in ("Ossenfell Schools Trust",):
        validate_and_save(OwnerPerson(owner=owners[name], user=person))
    return owners


def _own_limit(firm: Organisation) -> None:
    name, limit, acceptance, source = OWN_LIMIT
    own = OwnLimit(organisation=firm, name=name, limit_mm_h=limit, acceptance_mm_h=acceptance, source=source)
    limits.save_own_limit(own=own)


def _site(firm: Organisation, owner: Owner, spec: DemoSite, staff: Staff, today: date) -> None:
    site = Site(
        organisation=firm,
        owner=owner,
        name=spec.name,
        address=spec.address,
        latitude_deg=spec.position[0],
        longitude_deg=spec.position[1],
        time_zone=TIME_ZONE,
        access_note="Invented site: no need to ring.",
    )
    site.frost_months, site.leaf_fall_months = Months((12, 1, 2)), Months((10, 11))
    register.save_site(site=site)
    agreement = Agreement(
        since=today - timedelta(days=round(CARE_YR * 365.25)),
        site=site,
        tests_per_year=spec.tests_per_year,
        cleanings_per_year=spec.cleanings_per_year,
        price_per_year=quoting.agreed_price(spec.tests_per_year, spec.cleanings_per_year),
        currency=site.organisation.currency,
    )
    validate_and_save(agreement)
    for number, surface_spec in enumerate(spec.surfaces):
        rng = Random(crc32(f"{SEED} {spec.name} {number}".encode()))
        _surface(site, surface_spec, staff, today, rng)


def _surface(site: Site, spec: DemoSurface, staff: Staff, today: date, rng: Random) -> None:
    water = {"overflow_invert_mm": rng.choice((None, 100.0, 150.0)), "overflow_diameter_mm": 100.0}
    surface = Surface(
        site=site,
        name=spec.name,
        surface_type=spec.kind,
        area_m2=spec.area_m2,
        opened_on=today - timedelta(days=round(spec.age_yr * 365.25)),
        run_on_area_m2=round(spec.area_m2 * spec.run_on),
        run_on_from="roofs and asphalt" if spec.run_on else "",
        bare_soil=spec.soil,
        trees=spec.trees,
        winter_grit=spec.grit,
        traffic=spec.traffic,
        acceptance_rate_mm_h=2540.0 if spec.kind in (SurfaceType.PICP, SurfaceType.CLAY) else None,
        own_limit=site.organisation.own_limits.first() if spec.limit == "own" else None,
        **LIMITS[spec.limit][1],
        **(water | WATER.get(spec.name, {})),
        soil_rate_mm_h=rng.choice((4.0, 8.0, 15.0)),
    )
    register.save_surface(surface=surface)
    _build_up(surface)
    locations = _locations(surface, rng)
    for event in live_through(spec, surface.opened_on, today, rng):
        if isinstance(event, RoundDone):
            _record_round(surface, event, locations, staff.technician)
        else:
            _record_cleaning(surface, event, staff.technician)


def _build_up(surface: Surface) -> None:
    names = ("kind", "material", "thickness_mm", "stone_min_mm", "stone_max_mm", "porosity")
    layers = [
        Layer(**{name: getattr(layer, name) for name in names})
        for layer in typical_layers(surface.surface_type, surface.traffic)
    ]
    register.save_build_up(surface=surface, layers=layers, removed=[])


def _sievings(firm: Organisation, staff: Staff) -> None:
    site, name = SIEVED
    surface = Surface.objects.of_organisation(firm).get(site__name=site, name=name)
    for kind, size, passing, wash_loss in SIEVINGS:
        sieving = Sieving(
            surface=surface,
            layer=surface.layers.get(kind=kind),
            designation=size,
            sampled_on=surface.opened_on - timedelta(days=20),
            sampled_by="Invented laboratory",
            wash_loss_percent=wash_loss,
        )
        sieving.readings = SieveReadings(tuple(passing.items()))
        sievings.record_sieving(sieving=sieving, by=staff.technician)


def _locations(surface: Surface, rng: Random) -> dict[str, Location]:
    count = 4 if surface.area_m2 > 2500 else 3
    # A generator of its own, so that the readings stay the same whatever the outline is.
    plan = plan_of(surface.area_m2, Random(rng.random()))
    made = plans.save_plan(
        surface=surface, plan=plan, spots=spots_on(plan, count, seed=SEED), keep_locations=False
    )
    return {location.label: location for location in made}


def _record_round(surface: Surface, done: RoundDone, locations: dict[str, Location], by: User) -> None:
    round_ = TestRound(
        surface=surface,
        tested_on=done.on,
        purpose=done.purpose,
        hours_since_rain=done.hours_since_rain,
        air_temperature_c=done.air_c,
    )
    rounds.record_round(round_=round_, by=by)
    for reading in done.readings:
        rounds.record_test(test=_test(round_, reading, locations), by=by)


def _test(round_: TestRound, reading: Reading, locations: dict[str, Location]) -> InfiltrationTest:
    return InfiltrationTest(
        round=round_,
        location=locations[reading.location],
        prewet_mass=3.60,
        prewet_time_s=reading.prewet_time_s,
        start_delay_s=reading.start_delay_s,
        test_mass=reading.test_mass,
        ring_diameter=300.0,
        elapsed_s=reading.elapsed_s,
        ended=reading.ended,
    )


def _record_cleaning(surface: Surface, done: CleaningDone, by: User) -> None:
    terms = cleanings.terms_of(surface.organisation)[done.method]
    refilled = done.method in (CleaningMethod.JOINT_REFILL, CleaningMethod.REJOINT_RESIN)
    moved_kg = round(JOINT_KG_M2 * surface.area_m2 * done.share) if refilled else None
    event = CleaningEvent(
        surface=surface,
        cleaned_on=done.on,
        method=done.method,
        share_of_area=done.share,
        wetness=Wetness.WET if done.wet else Wetness.DRY,
        material_out_kg=moved_kg,
        material_in_kg=moved_kg,
        material_in="washed chippings as specified" if refilled else "",
        cost=cleaning_cost(plain_terms(terms), surface.area_m2, done.share),
    )
    cleanings.record_cleaning(event=event, by=by)


def _mishaps(firm: Organisation, staff: Staff) -> None:
    """One test set aside and one corrected, so that both can be seen."""
    tests = (
        InfiltrationTest.objects.of_organisation(firm)
        .filter(ended=Ending.DRAINED)
        .order_by("created_at", "pk")
    )
    leaked, misread = tests[7], tests[20]
    rounds.void_test(
        test=leaked, by=staff.coordinator, reason="The ring leaked along a joint; the putty would not stick."
    )
    new = InfiltrationTest(
        round=misread.round,
        location=misread.location,
        prewet_mass=misread.prewet_mass,
        prewet_time_s=misread.prewet_time_s,
        start_delay_s=misread.start_delay_s,
        test_mass=misread.test_mass,
        ring_diameter=misread.ring_diameter,
        elapsed_s=round(rounds.reading_of(misread).elapsed_s * 1.1, 1),
    )
    rounds.correct_test(
        old=misread, new=new, by=staff.coordinator, reason="Seconds misread on the wet sheet."
    )


def _crews(firm: Organisation, staff: Staff) -> list[Crew]:
    made = []
    for name, depot, (latitude, longitude) in CREWS:
        crew = Crew(organisation=firm, name=name, depot=depot, latitude_deg=latitude, longitude_deg=longitude)
        made.append(crews.save_crew(crew=crew, people=[staff.technician]))
    return made


def _past_visits(firm: Organisation, crew: Crew, staff: Staff, today: date) -> None:
    """Visits behind what was recorded in the last half year."""
    since = today - timedelta(days=182)
    done = TestRound.objects.of_organisation(firm).filter(tested_on__gte=since, purpose=Purpose.ROUTINE)
    events = CleaningEvent.objects.of_organisation(firm).filter(cleaned_on__gte=since)
    _visits_for([(r.tested_on, r) for r in done] + [(e.cleaned_on, e) for e in events], crew, staff)


def _visits_for(dated: Iterable[tuple[date, TestRound | CleaningEvent]], crew: Crew, staff: Staff) -> None:
    for day, record in dated:
        visit, _ = Visit.objects.get_or_create(
            organisation=crew.organisation,
            visit_on=day,
            crew=crew,
            defaults={"planned_by": staff.coordinator},
        )
        cleaned = isinstance(record, CleaningEvent)
        task = VisitTask(
            visit=visit,
            surface=record.surface,
            action=Action.CLEAN if cleaned else Action.TEST,
            method=record.method if isinstance(record, CleaningEvent) else "",
        )
        validate_and_save(task)
        if isinstance(record, CleaningEvent):
            visits.finish_task(task=task, cleaning=record)
        else:
            visits.finish_task(task=task, round_=record)


def _working_day(day: date) -> date:
    """The day, or the Monday after it where it lies on a weekend."""
    return day + timedelta(days=8 - day.isoweekday()) if day.isoweekday() > 5 else day


def _coming_visits(firm: Organisation, teams: list[Crew], staff: Staff, today: date) -> None:
    """Take on some of the advice that is due, show it to the owners, and decline one piece."""
    rows = Recommendation.objects.of_organisation(firm).open().order_by("due_on")
    due = [row for row in rows if not row.wants_word]
    findings = InspectionFinding.objects.of_organisation(firm).to_do().order_by("due_on")
    for finding in findings[:1]:
        visits.plan_finding(
            finding=finding,
            by=staff.coordinator,
            visit_on=_working_day(today + timedelta(days=3)),
            crew=teams[0],
        )
    for number, row in enumerate(due[1:5]):
        day = max(row.earliest_on, today + timedelta(days=3 + 2 * (number // 2)))
        visits.plan(
            recommendation=row, by=staff.coordinator, visit_on=_working_day(day), crew=teams[number % 2]
        )
    releases.release(recommendations=due[:6], by=staff.coordinator)
    if len(due) > 6:
        reason = "The owner rebuilds the yard in spring and asked to wait."
        recommendations.decline(recommendation=due[6], by=staff.coordinator, reason=reason)
