"""Numbers for whatever watches the server, read here by the parser of the format's own library."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now
from prometheus_client.parser import text_string_to_metric_families

from core.calc.jobs import JobState
from maintenance.models import Forecast
from operations.calc.job_kinds import KINDS
from operations.calc.signs import SignOf
from operations.models import Sign
from planning.models import WorkPlan
from tests.factories import SurfaceFactory, WorkPlanFactory
from tests.fieldwork.factories import HeldEntryFactory
from tests.operations.jobs import give_state, one_of_each

pytestmark = pytest.mark.django_db
SECRET = "known-to-who-watches"


@pytest.fixture(autouse=True)
def guarded(settings):
    settings.METRICS_TOKEN = SECRET


def ask(client, authorization=f"Bearer {SECRET}"):
    return client.get("/metrics/", headers={"authorization": authorization})


def read(client):
    """Every number by its name and labels."""
    answer = ask(client)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.content.decode())
        for sample in family.samples
    }


def test_every_number_has_words_and_a_kind(client):
    families = list(text_string_to_metric_families(ask(client).content.decode()))

    assert {family.type for family in families} == {"gauge"}
    assert all(family.documentation.endswith(".") for family in families)
    assert all(family.name.startswith("rainthrough_") for family in families)


@pytest.mark.parametrize(
    "authorization",
    [
        "",
        "Bearer ",
        "Bearer wrong",
        SECRET,
        f"Basic {SECRET}",
        f"bearer {SECRET}",
        f"Bearer {SECRET} ",
        "Bearer ünï",
    ],
)
def test_without_the_secret_there_is_no_such_page(client, authorization):
    assert ask(client, authorization.encode().decode("latin-1")).status_code == 404


@pytest.mark.parametrize("authorization", ["", "Bearer ", "Bearer"])
def test_without_a_secret_in_the_settings_there_is_none_for_anybody(client, settings, authorization):
    settings.METRICS_TOKEN = ""

    assert ask(client, authorization).status_code == 404


def test_an_admin_who_is_signed_in_has_no_way_in_either(client, firm):
    client.force_login(firm.admin)

    assert client.get("/metrics/").status_code == 404


def test_a_server_without_a_row_gives_every_line_at_zero(client):
    numbers = read(client)

    assert {numbers["rainthrough_jobs", kind.key, state] for kind in KINDS for state in JobState} == {0}
    assert {numbers["rainthrough_job_oldest_waiting_seconds", kind.key] for kind in KINDS} == {0}
    assert numbers["rainthrough_mails", "waiting"] == numbers["rainthrough_mails", "failed"] == 0
    assert numbers[("rainthrough_forecasts_stale",)] == 0


@pytest.mark.parametrize("state", list(JobState))
def test_jobs_are_counted_by_kind_and_state(client, firm, state):
    give_state(one_of_each(firm), state)

    numbers = read(client)

    assert {numbers["rainthrough_jobs", kind.key, state] for kind in KINDS} == {1}
    total = sum(value for (name, *_), value in numbers.items() if name == "rainthrough_jobs")
    assert total == len(KINDS)


def test_mails_of_all_kinds_are_counted_together(client, firm):
    give_state(one_of_each(firm), "failed")

    assert read(client)["rainthrough_mails", "failed"] == sum(kind.is_mail for kind in KINDS)


def test_the_age_of_the_oldest_that_waits_is_told(client, firm):
    for minutes in (5, 90, 20):
        WorkPlanFactory(organisation=firm.organisation, wanted_since=now() - timedelta(minutes=minutes))
    WorkPlan.objects.create(
        organisation=firm.organisation,
        first_on=now().date(),
        state="done",
        wanted_since=now() - timedelta(days=9),
    )

    assert read(client)["rainthrough_job_oldest_waiting_seconds", "plan"] == pytest.approx(90 * 60, abs=120)


def test_a_mail_whose_time_has_not_come_is_not_late(client, firm):
    jobs = one_of_each(firm)
    type(jobs["sending"]).objects.update(
        due_at=now() + timedelta(hours=5), wanted_since=now() - timedelta(days=2)
    )
    type(jobs["message"]).objects.update(due_at=now() - timedelta(hours=1))

    numbers = read(client)

    assert numbers["rainthrough_job_oldest_waiting_seconds", "sending"] == 0
    assert numbers["rainthrough_job_oldest_waiting_seconds", "message"] == pytest.approx(3600, abs=120)


def test_forecasts_of_an_older_record_are_stale(client, firm):
    fresh = {"state": "done", "finished_at": now(), "made_from_version": 10**6}
    Forecast.objects.create(surface=firm.surface, **fresh)
    Forecast.objects.create(
        surface=SurfaceFactory(site=firm.site, record_version=4), **fresh | {"made_from_version": 3}
    )

    assert read(client)[("rainthrough_forecasts_stale",)] == 1


def test_entries_of_phones_are_counted_by_what_became_of_them(client):
    for state in ("waiting", "waiting", "lost"):
        HeldEntryFactory(state=state)
    HeldEntryFactory(state="waiting", dealt_with_at=now())

    numbers = read(client)

    assert numbers["rainthrough_phone_entries", "waiting"] == 2
    assert numbers["rainthrough_phone_entries", "lost"] == 1
    assert numbers["rainthrough_phone_entries", "parked"] == 0


def test_ages_are_told_of_what_happened_and_left_out_of_what_never_did(client):
    Sign.objects.create(of=SignOf.BACKUP, seen_at=now() - timedelta(hours=30))

    numbers = read(client)

    assert numbers[("rainthrough_last_backup_age_seconds",)] == pytest.approx(30 * 3600, abs=120)
    assert ("rainthrough_clock_age_seconds",) not in numbers


def test_sizes_are_told(client):
    numbers = read(client)

    assert numbers[("rainthrough_database_bytes",)] > 10_000
    assert numbers[("rainthrough_disk_free_bytes",)] > 0


def test_no_number_names_a_firm_or_a_person(client, firm):
    one_of_each(firm)

    text = ask(client).content.decode()

    for name in (firm.organisation.name, firm.site.name, firm.surface.name, firm.admin.email):
        assert name not in text


def test_many_rows_take_no_more_queries_than_few(client, firm):
    one_of_each(firm)
    with CaptureQueriesContext(connection) as few:
        read(client)
    for _ in range(20):
        WorkPlanFactory(organisation=firm.organisation)
        Forecast.objects.create(surface=SurfaceFactory(site=firm.site))
    with CaptureQueriesContext(connection) as many:
        read(client)

    assert len(many) == len(few) <= 5
