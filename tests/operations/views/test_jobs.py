"""The page of a firm's work in the background: what is shown of it, to whom, and what can be tried again."""

from datetime import timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from core.calc.format import moment
from core.calc.jobs import JobState
from maintenance.models import Forecast
from operations.calc.job_kinds import KINDS
from operations.selectors.jobs import rows_of
from planning.models import WorkPlan
from tests.clock import SITE_ZONE
from tests.factories import MembershipFactory, SurfaceFactory, WorkPlanFactory
from tests.operations.jobs import give_state, one_of_each
from tests.test_architecture import our_models

NOBODY = UUID("6f9c7c7e-0000-4000-8000-000000000000")  # of no row; the same in each process that collects

pytestmark = pytest.mark.django_db
LIST = "/jobs/"
HERE = SITE_ZONE


@pytest.fixture
def office(client, firm):
    client.force_login(firm.admin)
    return client


def page_of(office, query=""):
    answer = office.get(LIST + query)
    assert answer.status_code == 200
    return answer


def lines_of(answer):
    return answer.context["lines"]


def test_every_model_that_is_a_job_is_shown():
    from core.models.jobs import Job

    assert {kind.label for kind in KINDS} == {m._meta.label for m in our_models() if issubclass(m, Job)}
    assert len({kind.key for kind in KINDS}) == len(KINDS)


def test_no_job_gives_an_empty_page_in_words(office):
    assert "Nothing failed, nothing waits" in page_of(office).content.decode()


def test_a_state_without_a_job_says_what_to_do(office):
    assert "Choose another kind or state" in page_of(office, "?state=failed").content.decode()


@pytest.mark.parametrize("state", ["waiting", "running", "failed", "done"])
def test_one_of_each_kind_is_listed_by_its_state(office, firm, state):
    give_state(one_of_each(firm), state)

    answer = page_of(office, f"?state={state}")

    assert {line.row.kind_key for line in lines_of(answer)} == {kind.key for kind in KINDS}
    assert {line.state for line in lines_of(answer)} == {JobState(state).label}


def test_what_is_done_is_left_out_until_it_is_asked_for(office, firm):
    give_state(one_of_each(firm), "done")

    assert lines_of(page_of(office)) == []
    assert len(lines_of(page_of(office, "?state=done"))) == len(KINDS)


def test_a_forecast_of_an_older_record_waits_though_it_was_done(office, firm):
    forecast = Forecast.objects.create(
        surface=firm.surface, made_from_version=0, state="done", finished_at=now()
    )
    firm.surface.record_version = 3
    firm.surface.save()

    (line,) = lines_of(page_of(office, "?state=waiting"))

    assert (line.row.pk, line.state) == (forecast.pk, "Waiting")
    assert lines_of(page_of(office, "?state=done")) == []


def test_a_fresh_forecast_does_not_wait(office, firm):
    Forecast.objects.create(
        surface=firm.surface,
        made_from_version=firm.surface.record_version,
        state="done",
        finished_at=now(),
    )

    assert lines_of(page_of(office)) == []
    assert len(lines_of(page_of(office, "?state=done"))) == 1


def test_failed_ones_come_first_then_those_at_work_then_those_that_wait(office, firm):
    for state in ("waiting", "failed", "running"):
        WorkPlanFactory(organisation=firm.organisation, state=state)

    assert [line.row.state for line in lines_of(page_of(office))] == ["failed", "running", "waiting"]


def test_the_list_is_narrowed_by_kind_and_state(office, firm):
    one_of_each(firm)

    answer = page_of(office, "?kind=plan&state=waiting")

    assert [line.row.kind_key for line in lines_of(answer)] == ["plan"]
    assert lines_of(page_of(office, "?kind=plan&state=failed")) == []


@pytest.mark.parametrize("query", ["?kind=nonsense", "?state=nonsense", "?page=99", "?page=x"])
def test_what_no_choice_has_narrows_nothing(office, firm, query):
    one_of_each(firm)

    assert len(lines_of(page_of(office, query))) == len(KINDS)


def test_the_numbers_at_the_top_count_all_pages(office, firm):
    for _ in range(60):
        WorkPlanFactory(organisation=firm.organisation, state="failed")
    WorkPlanFactory(organisation=firm.organisation, state="running")

    answer = page_of(office)

    assert [(f.label, f.value) for f in answer.context["figures"]] == [
        ("Failed", "60"), ("Running", "1"), ("Waiting", "0")
    ]  # fmt: skip
    assert len(lines_of(answer)) == 50
    assert len(lines_of(page_of(office, "?page=2"))) == 11


def test_another_firms_jobs_are_not_seen(office, firm):
    other = MembershipFactory(role=40).organisation
    WorkPlanFactory(organisation=other, state="failed")
    Forecast.objects.create(surface=SurfaceFactory(), state="failed")

    assert lines_of(page_of(office)) == []
    assert {figure.value for figure in page_of(office).context["figures"]} == {"0"}


def test_a_job_at_work_says_since_when_how_far_by_whom_and_its_last_sign(office, firm):
    at = now().replace(microsecond=0)
    WorkPlanFactory(
        organisation=firm.organisation,
        state="running",
        started_at=at - timedelta(minutes=2),
        lease_until=at + WorkPlan.LEASE,
        progress_done=3,
        progress_total=10,
        progress_word="days planned",
        worker="north:4711",
    )

    (line,) = lines_of(page_of(office))

    said = " ".join(line.sentences)
    assert f"Since {moment(at - timedelta(minutes=2), HERE)} by north:4711." in said
    assert "3 of 10 days planned." in said
    assert f"Last sign of life {moment(at, HERE, exact=True)}." in said


def test_a_failed_job_says_why_and_how_often_it_was_tried(office, firm):
    WorkPlanFactory(
        organisation=firm.organisation,
        state="failed",
        error="It was begun too often.",
        attempts=3,
        finished_at=now(),
    )

    page = page_of(office).content.decode()

    assert "It was begun too often." in page
    assert "Tried 3 times so far." in page


def test_a_mail_that_was_refused_says_when_it_goes_again(office, firm):
    jobs = one_of_each(firm)
    due = now() + timedelta(hours=2)
    rows_of(KINDS[4]).filter(pk=jobs["sending"].pk).update(
        due_at=due, failures=2, error="The mail server is busy."
    )

    (line,) = lines_of(page_of(office, "?kind=sending"))

    assert line.sentences == (f"Not before {moment(due, HERE)}.", "Tried 2 times so far.")
    assert line.about == "Report of the yard"


def test_every_line_leads_to_a_page_that_opens(office, firm):
    one_of_each(firm)

    for line in lines_of(page_of(office)):
        if line.row.kind_key != "sending":  # its document is as bare as a test needs
            assert office.get(line.url, follow=True).status_code == 200, line.title


def test_many_jobs_take_no_more_queries_than_few(office, firm):
    one_of_each(firm)
    page_of(office)
    with CaptureQueriesContext(connection) as few:
        page_of(office)
    for _ in range(40):
        WorkPlanFactory(organisation=firm.organisation, state="failed")
        Forecast.objects.create(surface=SurfaceFactory(site=firm.site), state="failed")
    with CaptureQueriesContext(connection) as many:
        page_of(office)

    assert len(many) == len(few)


def test_a_press_has_a_failed_job_done_anew(office, firm):
    plan = WorkPlanFactory(organisation=firm.organisation, state="failed", error="No.", attempts=3)
    (line,) = lines_of(page_of(office))

    answer = office.post(line.again_url, follow=True)

    plan.refresh_from_db()
    assert (plan.state, plan.attempts, plan.claim_number, plan.error) == ("waiting", 0, 1, "")
    assert "It is tried again." in answer.content.decode()


def test_a_second_press_is_told_that_it_is_at_work(office, firm):
    plan = WorkPlanFactory(organisation=firm.organisation, state="failed")
    url = reverse("operations:job-again", args=[f"plan-{plan.pk}"])
    office.post(url)

    answer = office.post(url, follow=True)

    assert "it is at work or done by now" in answer.content.decode()
    plan.refresh_from_db()
    assert plan.claim_number == 1


@pytest.mark.parametrize(
    "job", ["plan-", "plan-nonsense", "nonsense-x", "plan", f"plan-{NOBODY}", f"fit-{NOBODY}"]
)
def test_what_names_no_job_is_not_there(office, firm, job):
    assert office.post(f"/jobs/{job}/again/").status_code == 404


def test_the_page_is_offered_to_admins_on_that_of_the_firm(client, firm):
    for person, offered in ((firm.admin, True), (firm.coordinator, False)):
        client.force_login(person)
        assert (LIST in client.get("/firm/").content.decode()) == offered
