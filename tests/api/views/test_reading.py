"""What programs read: rows of their firm or owner alone, in pages, in a constant number of queries."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.secrets import hash_of
from maintenance.models import Forecast, Recommendation
from maintenance.services.releases import release
from qa.models import Surface
from reporting.services.kept import freeze_handover
from tests.api.calling import program_of
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    LocationFactory,
    MembershipFactory,
    OwnerFactory,
    OwnerPersonFactory,
    RemedyFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.permissions import API_READS

pytestmark = pytest.mark.django_db
KINDS = tuple(sorted({path.split("/")[2] for path, kind, _ in API_READS.values() if kind}))


def fill(firm, count):
    """That many more rows of every kind."""
    for _ in range(count):
        site = SiteFactory(owner=firm.owner)
        surface = SurfaceFactory(site=site)
        LocationFactory(surface=surface)
        round_ = RoundFactory(surface=surface)
        InfiltrationTestFactory(round=round_)
        CleaningFactory(surface=surface)
        RemedyFactory(finding=InspectionFindingFactory(inspection__surface=surface))
        visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)
        VisitTaskFactory(visit=visit, surface=surface)
        Forecast.objects.create(surface=surface)
        advise(surface)
        freeze_handover(surface=surface, audience=Audience.OWNER, by=firm.admin)
        OwnerFactory(organisation=firm.organisation)


def advise(surface, **changes):
    values = {"action": "test", "due_on": TODAY, "earliest_on": TODAY, "currency": "EUR", "grounds": BECAUSE}
    return Recommendation.objects.create(surface=surface, **values | changes)


@pytest.mark.parametrize("kind", [*KINDS, "owners"])
def test_a_list_takes_as_many_queries_however_long_it_is(firm, kind):
    program = program_of(firm)
    fill(firm, 1)
    program.get(f"/api/{kind}")
    with CaptureQueriesContext(connection) as few:
        short = program.get(f"/api/{kind}")
    fill(firm, 4)
    with CaptureQueriesContext(connection) as many:
        long = program.get(f"/api/{kind}")

    assert len(short.json()["items"]) < len(long.json()["items"])
    assert len(few) == len(many) <= 12


@pytest.mark.parametrize("kind", [*KINDS, "owners"])
def test_pages_hold_every_row_once_in_the_order_they_were_stored(firm, kind):
    program = program_of(firm)
    fill(firm, 5)
    whole = program.get(f"/api/{kind}").json()["items"]

    paged, address = [], f"/api/{kind}?page_size=2"
    while address:
        answer = program.get(address)
        page = answer.json()
        assert len(page["items"]) <= 2
        assert (f'<{page["next"]}>; rel="next"' in answer.headers["Link"]) == bool(page["next"])
        paged, address = paged + page["items"], page["next"]

    assert paged == whole
    assert [row["stored_at"] for row in whole] == sorted(row["stored_at"] for row in whole)


def test_rows_of_one_instant_are_neither_skipped_nor_told_twice(firm):
    at = now()
    for _ in range(5):
        row = SurfaceFactory(site=firm.site)
        type(row).objects.filter(pk=row.pk).update(created_at=at)

    program, seen, address = program_of(firm), [], "/api/surfaces?page_size=1"
    while address:
        page = program.get(address).json()
        seen, address = seen + [row["id"] for row in page["items"]], page["next"]

    assert len(seen) == len(set(seen)) == 6


def test_a_row_that_is_stored_while_pages_are_read_comes_at_the_end(firm):
    # The furnished firm may have been stored by a clock that was ahead of that of this test.
    Surface.objects.update(created_at=now() - timedelta(days=1))
    program = program_of(firm)
    SurfaceFactory(site=firm.site)
    first = program.get("/api/surfaces?page_size=1").json()
    late = SurfaceFactory(site=firm.site)

    second = program.get(first["next"]).json()
    third = program.get(second["next"]).json()

    assert third["items"][0]["id"] == str(late.pk)


@pytest.mark.parametrize(
    ("asked", "status", "said"),
    [
        ("page_size=0", 422, "page_size"),
        ("page_size=201", 422, "page_size"),
        ("page_size=many", 422, "page_size"),
        ("cursor=nonsense", 400, "nonsense"),
        ("cursor=MjAyNi0wNi0wMXxubw==", 400, "cursor"),
        ("surfce=1", 422, "surfce"),
        ("surface=1", 422, "surface"),
        ("since=yesterday", 422, "since"),
    ],
)
def test_what_is_asked_amiss_is_told(firm, asked, status, said):
    answer = program_of(firm).get(f"/api/rounds?{asked}")

    assert answer.status_code == status
    assert said in answer.content.decode()


def test_lists_are_narrowed_by_place_and_day(firm):
    program, other = program_of(firm), SurfaceFactory(site=SiteFactory(owner=firm.owner))
    early = RoundFactory(surface=firm.surface, tested_on=date(2024, 3, 1))
    late = RoundFactory(surface=firm.surface, tested_on=date(2024, 6, 1))
    elsewhere = RoundFactory(surface=other, tested_on=date(2024, 6, 1))
    test = InfiltrationTestFactory(round=late)

    def ids(path):
        return [row["id"] for row in program.get(path).json()["items"]]

    assert ids(f"/api/rounds?surface={firm.surface.pk}") == [str(early.pk), str(late.pk)]
    assert ids(f"/api/rounds?site={other.site.pk}") == [str(elsewhere.pk)]
    assert ids("/api/rounds?since=2024-06-01") == [str(late.pk), str(elsewhere.pk)]
    assert ids("/api/rounds?until=2024-05-31") == [str(early.pk)]
    assert ids(f"/api/tests?round={late.pk}") == [str(test.pk)]
    assert ids(f"/api/tests?round={early.pk}") == []


def test_the_next_page_keeps_the_filters(firm):
    for _ in range(3):
        RoundFactory(surface=firm.surface)

    page = program_of(firm).get(f"/api/rounds?page_size=1&surface={firm.surface.pk}").json()

    assert f"surface={firm.surface.pk}" in page["next"]
    assert "page_size=1" in page["next"]


@pytest.mark.parametrize("kind", KINDS)
def test_what_one_has_is_not_sent_again(firm, kind):
    program = program_of(firm)
    fill(firm, 1)
    key = program.get(f"/api/{kind}").json()["items"][0]["id"]
    first = program.get(f"/api/{kind}/{key}")
    etag = first.headers["ETag"]

    for condition in (etag, f"W/{etag}", f'"other", {etag}', "*"):
        again = program.get(f"/api/{kind}/{key}", If_None_Match=condition)
        assert (again.status_code, again.content, again.headers["ETag"]) == (304, b"", etag)
    assert program.get(f"/api/{kind}/{key}", If_None_Match='"other"').status_code == 200


def test_who_asks_for_the_head_alone_gets_its_fields(firm):
    program = program_of(firm)
    path = f"/api/surfaces/{firm.surface.pk}"

    head = program.client.head(path, headers={"Authorization": f"Bearer {program.secret}"})

    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["ETag"] == program.get(path).headers["ETag"]


def test_a_token_says_who_it_is(firm):
    told = program_of(firm, "technician").get("/api/me").json()

    assert (told["firm"], told["role"], told["owner"]) == (str(firm.organisation.pk), "technician", None)
    assert "record:tests" in told["scopes"]
    assert "plan:sites" not in told["scopes"]


# ---- what an owner's people read --------------------------------------------------------------------------


@pytest.fixture
def shown(firm):
    """A firm with rows that hold what an owner must not read, a program of the owner, and one of the firm."""
    secret = "For the firm alone"
    site, surface = firm.site, firm.surface
    type(site).objects.filter(pk=site.pk).update(access_note=secret, below_price_m2_yr="3.25")
    type(surface).objects.filter(pk=surface.pk).update(note=secret)
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(note=secret)
    round_ = RoundFactory(surface=surface, note=secret)
    InfiltrationTestFactory(round=round_, note=secret)
    CleaningFactory(surface=surface, note=secret)
    finding = InspectionFindingFactory(inspection__surface=surface)
    type(finding.inspection).objects.filter(pk=finding.inspection_id).update(note=secret)
    crew = CrewFactory(organisation=firm.organisation, name="Crew of secrets")
    visit = VisitFactory(crew=crew, note=secret, visit_on=TODAY + timedelta(days=3))
    VisitTaskFactory(visit=visit, surface=surface)
    advise(surface, crew_hours=3.5, decision_reason=secret)
    freeze_handover(surface=surface, audience=Audience.FIRM, by=firm.admin)
    firm.visit, firm.secrets = visit, (secret, "Crew of secrets", "3.25")
    return firm


@pytest.mark.parametrize("kind", [*KINDS, "owners"])
def test_an_owners_token_never_reads_what_is_for_the_firm(shown, kind):
    answers = [program_of(shown, "owner_person").get(f"/api/{kind}")]
    answers += [
        program_of(shown, "owner_person").get(f"/api/{kind}/{row['id']}")
        for row in answers[0].json()["items"]
        if kind != "owners"
    ]

    text = "".join(answer.content.decode() for answer in answers)
    assert [one for one in shown.secrets if one in text] == []


def test_the_firms_own_token_reads_them(shown):
    """Else the test above could not fail."""
    program = program_of(shown, "viewer")
    text = "".join(program.get(f"/api/{kind}").content.decode() for kind in (*KINDS, "owners"))

    assert all(one in text for one in shown.secrets)


def test_an_owner_reads_advice_once_it_is_released_and_as_it_was(shown):
    owner = program_of(shown, "owner_person")
    advice = Recommendation.objects.get()
    assert owner.get("/api/recommendations").json()["items"] == []
    assert owner.get(f"/api/recommendations/{advice.pk}").status_code == 404

    (row,) = release(recommendations=[advice], by=shown.admin)

    (told,) = owner.get("/api/recommendations").json()["items"]
    assert (told["id"], told["crew_hours"], told["decision_reason"]) == (str(row.pk), None, "")
    assert told["released_at"] is not None


def test_an_owner_reads_documents_that_were_kept_for_the_owner(shown):
    kept = freeze_handover(surface=shown.surface, audience=Audience.OWNER, by=shown.admin)

    (told,) = program_of(shown, "owner_person").get("/api/reports").json()["items"]

    assert told["id"] == str(kept.pk)
    assert len(program_of(shown, "viewer").get("/api/reports").json()["items"]) == 2


def test_a_withdrawn_document_is_gone_for_the_owner(shown):
    kept = freeze_handover(surface=shown.surface, audience=Audience.OWNER, by=shown.admin)
    type(kept).objects.filter(pk=kept.pk).update(state="void")

    assert program_of(shown, "owner_person").get(f"/api/reports/{kept.pk}").status_code == 404


def test_of_a_shared_visit_an_owner_reads_the_own_tasks_alone(shown):
    other = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=shown.organisation)))
    theirs = VisitTaskFactory(visit=shown.visit, surface=other)
    owner = program_of(shown, "owner_person")

    (visit,) = owner.get("/api/visits").json()["items"]

    assert str(theirs.pk) not in str(visit)
    assert [task["surface"] for task in visit["tasks"]] == [str(shown.surface.pk)]
    assert visit["crew"] == ""
    assert owner.get(f"/api/visits?site={other.site.pk}").json()["items"] == []


def test_a_visit_that_is_over_or_cancelled_is_not_told_to_owners(shown):
    type(shown.visit).objects.update(status="cancelled")

    assert program_of(shown, "owner_person").get("/api/visits").json()["items"] == []
    assert len(program_of(shown, "viewer").get("/api/visits").json()["items"]) == 1


@pytest.mark.parametrize(("days", "shown_there"), [(-1, 0), (0, 1), (1, 1)])
def test_what_an_owner_reads_of_visits_begins_with_today_at_the_site(shown, days, shown_there):
    """As the owner's pages do: a visit that nobody closed is no news of days to come."""
    shown.site.time_zone = "Pacific/Kiritimati"  # 14 hours ahead of UTC
    shown.site.save()
    type(shown.visit).objects.update(visit_on=shown.site.today() + timedelta(days=days))
    program, key = program_of(shown, "owner_person"), shown.visit.pk

    assert len(program.get("/api/visits").json()["items"]) == shown_there
    assert program.get(f"/api/visits/{key}").status_code == (200 if shown_there else 404)
    assert len(program_of(shown, "viewer").get("/api/visits").json()["items"]) == 1


def test_a_token_for_an_owner_reads_as_an_owner_whoever_else_its_person_is(shown):
    """Somebody who works for the firm and reads for the owner too gets, by this token, what the owner reads."""
    OwnerPersonFactory(owner=shown.owner, user=shown.admin)
    program = program_of(shown, "admin", owner=shown.owner)

    text = "".join(program.get(f"/api/{kind}").content.decode() for kind in (*KINDS, "owners"))

    assert [one for one in shown.secrets if one in text] == []
    assert program.get("/api/me").json()["role"] == "owner"
    assert program.make("rounds", {})[1].status_code == 403


def test_a_token_for_a_firm_reads_nothing_of_another_firm_of_its_person(firm):
    other = SurfaceFactory()
    MembershipFactory(organisation=other.site.organisation, user=firm.coordinator)

    program = program_of(firm)

    assert program.get(f"/api/surfaces/{other.pk}").status_code == 404
    assert str(other.pk) not in program.get("/api/surfaces").content.decode()


def test_a_forecast_names_its_figures_with_their_units(firm):
    Forecast.objects.create(surface=firm.surface, rate_now_mm_h=900.0, share_below_now=0.02)

    (told,) = program_of(firm).get("/api/forecasts").json()["items"]

    assert (told["rate_now_mm_h"], told["share_below_now"], told["limit_mm_h"]) == (900.0, 0.02, 250.0)
    assert told["is_stale"] is True


def test_a_secret_is_not_among_what_is_stored(firm):
    program = program_of(firm)

    assert program.token.token_hash == hash_of(program.secret)
    assert program.secret not in str(vars(program.token))
