"""Which pages a phone keeps, and what its pages tell their scripts."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from core.calc.paving import TestMethod
from fieldwork.calc.forms import FIELD_FORMS
from qa.services import rounds
from tests.clock import TODAY
from tests.factories import (
    ConstructionCheckFactory,
    CrewFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

PAGES = reverse("fieldwork:page-list")
DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.add(firm.technician)
    return crew


def visit_of(crew, surface, on=TODAY, action="clean"):
    visit = VisitFactory(crew=crew, visit_on=on, organisation=crew.organisation)
    VisitTaskFactory(
        visit=visit, surface=surface, action=action, method="vacuum" if action == "clean" else ""
    )
    return visit


def listed(client, person, query=""):
    client.force_login(person)
    answer = client.get(PAGES + query)
    assert answer.status_code == 200
    return answer.json()


def stamps(client, person, query=""):
    return {page["address"]: page["stamp"] for page in listed(client, person, query)["pages"]}


def test_every_page_of_the_days_ahead_is_kept_and_opens(client, firm, crew):
    visit = visit_of(crew, firm.surface)
    ConstructionCheckFactory(record__surface=firm.surface)
    kept = stamps(client, firm.technician)

    forms = (
        "qa:round-create",
        "maintenance:cleaning-create",
        "qa:inspection-create",
        "qa:construction-detail",
    )
    assert {reverse(name, args=[firm.surface.pk]) for name in forms} <= set(kept)
    assert {
        visit.get_absolute_url(),
        reverse("planning:visit-tell", args=[visit.pk]),
        "/field/phone/",
    } <= set(kept)
    assert any("method=vacuum" in address for address in kept)  # where the task is got done
    assert any(address.startswith("/checks/") for address in kept)
    assert {address: client.get(address).status_code for address in kept} == dict.fromkeys(kept, 200)


def test_the_pages_name_the_person_they_are_for(client, firm):
    assert listed(client, firm.technician)["person"] == str(firm.technician.pk)


@pytest.mark.parametrize(("days", "is_kept"), [(-3, True), (-4, False), (6, True), (7, False)])
def test_pages_of_a_week_are_kept_and_of_days_just_over(client, firm, crew, days, is_kept):
    visit = visit_of(crew, firm.surface, on=TODAY + days * DAY)

    assert (visit.get_absolute_url() in stamps(client, firm.technician)) is is_kept


def test_visits_of_other_crews_and_cancelled_ones_are_not_kept(client, firm, crew):
    other = visit_of(CrewFactory(organisation=firm.organisation), firm.surface)
    off = visit_of(crew, firm.surface)
    off.status = "cancelled"
    off.save()

    kept = stamps(client, firm.technician)
    assert other.get_absolute_url() not in kept
    assert off.get_absolute_url() not in kept


def test_surfaces_that_were_asked_for_are_kept_unless_they_are_of_another_firm(client, firm):
    strange = SurfaceFactory()
    kept = stamps(
        client, firm.technician, f"?surface={firm.surface.pk}&surface={strange.pk}&surface=nonsense"
    )

    assert firm.surface.get_absolute_url() in kept
    assert strange.get_absolute_url() not in kept
    assert sum("/tests/new/?method=" in address for address in kept) == len(TestMethod)


def test_a_page_is_fetched_anew_only_where_its_record_or_its_day_changed(client, firm, crew):
    visit = visit_of(crew, firm.surface)
    other = SurfaceFactory(site=firm.site)
    query = f"?surface={other.pk}"
    before = stamps(client, firm.technician, query)
    rounds.record_round(round_=RoundFactory.build(surface=firm.surface), by=firm.technician)
    test = InfiltrationTestFactory.build(round=firm.surface.rounds.get(), location=None, spot="Gate")
    rounds.record_test(test=test, by=firm.technician)
    after = stamps(client, firm.technician, query)
    changed = {address for address, stamp in after.items() if before.get(address) != stamp}

    assert firm.surface.get_absolute_url() in changed
    assert other.get_absolute_url() not in changed
    assert visit.get_absolute_url() not in changed


def test_the_list_costs_the_same_queries_for_many_visits_of_a_day(client, firm, crew):
    def queries():
        client.force_login(firm.technician)
        with CaptureQueriesContext(connection) as counted:
            client.get(PAGES)
        return len(counted)

    visit_of(crew, firm.surface)
    few = queries()
    for _ in range(4):
        visit_of(crew, SurfaceFactory(site=firm.site))

    assert queries() <= few


def test_scripts_styles_and_icons_are_listed_and_nothing_large(client, firm):
    shell = listed(client, firm.technician)["shell"]

    assert {"/static/js/start.js", "/static/js/queue/store.js", "/static/css/base.css"} <= set(shell)
    assert all(finders.find(address.removeprefix("/static/")) for address in shell)
    assert not [address for address in shell if "plotly" in address]


def test_the_worker_answers_for_every_page_and_is_asked_for_each_time(client):
    answer = client.get("/field-worker.js")

    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert b"addEventListener" in answer.content


@pytest.mark.parametrize("method", TestMethod.values)
def test_a_test_of_a_round_on_the_phone_has_its_form(client, firm, method):
    client.force_login(firm.technician)
    page = client.get(
        f"{reverse('fieldwork:blank-test', args=[firm.surface.pk])}?method={method}"
    ).content.decode()

    assert f'data-queued-to="/rounds/{{parent}}/tests/new/?method={method}"' in page
    assert 'name="device_id"' in page
    assert not re.search(r'href="/rounds/', page)  # nothing leads to a round that is not there
    assert not firm.surface.rounds.exists()


def body_of(client, person, address):
    client.force_login(person)
    page = client.get(address).content.decode()
    return unescape(re.search(r"<body([^>]*)>", page)[1])


def test_a_form_that_records_says_so_and_where_its_photos_go(client, furnished):
    check = furnished.rows["check"]
    body = body_of(client, furnished.technician, f"/checks/{check}/record/")

    assert 'data-queued="Check"' in body
    assert 'data-queued-files-to="/findings/{row}/files/new/"' in body
    assert f'data-person="{furnished.technician.pk}"' in body


def test_a_round_leads_on_to_its_tests(client, firm):
    body = body_of(client, firm.technician, reverse("qa:round-create", args=[firm.surface.pk]))

    assert f"/field/surfaces/{firm.surface.pk}/tests/new/?method=ring&entry={{entry}}" in body


@pytest.mark.parametrize("who", ["viewer", "owner_person"])
def test_who_records_nothing_has_no_queue(client, firm, who):
    body = body_of(client, getattr(firm, who), firm.surface.get_absolute_url())

    assert "data-person" not in body


def test_a_page_without_a_form_of_the_table_is_not_queued(client, firm):
    assert "data-queued" not in body_of(client, firm.coordinator, firm.surface.get_absolute_url())
    assert "qa:site-create" not in FIELD_FORMS
    assert "data-queued" not in body_of(client, firm.coordinator, reverse("qa:site-create"))
