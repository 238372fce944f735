"""Work in the background told in French."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import override

from accounts.models import Notice
from core.services.mail_jobs import said_to_office
from operations.presentation.jobs import job_lines
from operations.selectors.jobs import Asked, JobList
from operations.services.failure_notices import tell_failures
from tests.operations.jobs import give_state, one_of_each

AT = datetime(2026, 3, 3, 8, tzinfo=UTC)


@pytest.fixture
def made(firm):
    return one_of_each(firm)


def test_a_failure_is_told_to_each_admin_in_their_language(firm, made):
    firm.admin.language = "fr"
    firm.admin.save()
    give_state(made, "failed", error="It broke.")

    tell_failures(now())

    said = set(Notice.objects.filter(user=firm.admin).values_list("text", flat=True))
    assert "Plan de travail : échec. Ce qui s’est passé figure sous « Tâches en arrière-plan »." in {
        text.replace("\u00a0", " ") for text in said
    }


def test_a_job_says_its_state_tries_and_steps_in_french(firm, made):
    give_state(made, "running")
    type(made["plan"]).objects.update(
        started_at=AT, progress_done=3, progress_total=10, attempts=2, worker=""
    )

    with override("fr"):
        rows = JobList(firm.admin, firm.organisation, Asked("plan"))[:5]
        (line,) = job_lines(rows, ZoneInfo("Europe/Paris"), AT)

    assert (line.title, line.state) == ("Plan de travail", "En cours")
    assert "Depuis le 3\xa0mars\xa02026, 09:00." in line.sentences
    assert "3 sur 10." in line.sentences
    assert "2 tentatives jusqu’ici." in line.sentences


def test_what_is_stored_of_a_refused_mail_is_in_the_language_of_the_firm(firm, made):
    firm.organisation.language = "fr"
    firm.organisation.save()
    refused = "The mail server did not take it: {why}. It is sent again."

    for kind in ("daily", "message", "sending"):
        made[kind].refresh_from_db()
        assert said_to_office(made[kind], refused).startswith("Le serveur de messagerie ne l’a pas accepté")


def test_the_page_of_jobs_is_french_throughout_for_who_chose_it(client, firm, made):
    firm.admin.language = "fr"
    firm.admin.save()
    client.force_login(firm.admin)

    page = client.get(reverse("operations:job-list")).content.decode()

    for said in (
        "Tâches en arrière-plan",
        "Tous les types",
        "En attente",
        "Cela commence d’ici deux minutes.",
    ):
        assert said in page
