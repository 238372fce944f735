"""Keeping a report or a handover record, and opening it again years later."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from accounts.calc.audience import Audience
from core.services.files import void_file
from maintenance.services import forecasts
from qa.models import Attachment
from reporting.models import Snapshot
from reporting.services import kept
from tests.clock import TODAY
from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory
from tests.reporting.papers import words_of
from tests.reporting.selectors.test_handovers import build

SINCE = TODAY - timedelta(days=365)


def keep_handover(firm, audience=Audience.OWNER):
    return kept.freeze_handover(surface=firm.surface, audience=audience, by=firm.coordinator)


def keep_report(firm, audience=Audience.OWNER):
    return kept.freeze_report(site=firm.site, audience=audience, since=SINCE, by=firm.coordinator)


def page(client, person, address):
    client.force_login(person)
    response = client.get(address)
    assert response.status_code == 200, address
    return response.content.decode()


def article(html):
    """The document in a page, without what differs by request."""
    return re.search(r"<article.*</article>", html, re.DOTALL)[0]


def use_units(person, units):
    person.units = units
    person.save()


@pytest.fixture
def reported(firm):
    """A surface with a round, a cleaning and a forecast."""
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=50)))
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - timedelta(days=40), cost=850)
    forecasts.refresh(firm.surface.pk)
    return firm


def change(firm):
    InfiltrationTestFactory(
        round=RoundFactory(surface=firm.surface, purpose="acceptance", tested_on=TODAY), elapsed_s=20.0
    )
    firm.surface.refresh_from_db()
    firm.surface.area_m2, firm.surface.limit_mm_h, firm.surface.agreed_limit_mm_h = 77.0, 999.0, 999.0
    firm.surface.save()
    firm.surface.layers.update(thickness_mm=33.0)
    forecasts.refresh(firm.surface.pk)


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_kept_report_shows_the_same_numbers_after_the_record_changed_and_in_either_units(
    client, reported, units
):
    live, row = reverse("reporting:report-site", args=[reported.site.pk]), keep_report(reported)
    use_units(reported.owner_person, units)
    before = article(page(client, reported.owner_person, live))

    change(reported)

    assert article(page(client, reported.owner_person, row.get_absolute_url())) == before
    assert article(page(client, reported.owner_person, live)) != before


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_kept_handover_record_shows_the_same_numbers_on_page_and_paper(client, firm, units, tmp_path):
    build(firm)
    live, row = reverse("reporting:handover-show", args=[firm.surface.pk]), keep_handover(firm)
    use_units(firm.owner_person, units)
    before = article(page(client, firm.owner_person, live))
    paper = client.get(reverse("reporting:handover-download", args=[firm.surface.pk])).content

    change(firm)

    assert article(page(client, firm.owner_person, row.get_absolute_url())) == before
    again = client.get(reverse("reporting:kept-download", args=[row.pk])).content
    assert words_of(again, tmp_path) == words_of(paper, tmp_path)
    changed = client.get(reverse("reporting:handover-download", args=[firm.surface.pk])).content
    assert words_of(changed, tmp_path) != words_of(paper, tmp_path)


def test_a_coordinator_keeps_a_report_for_the_owner_who_then_finds_it(client, reported):
    client.force_login(reported.coordinator)
    live = client.get(reverse("reporting:report-site", args=[reported.site.pk]), {"since": SINCE.isoformat()})
    assert "Keep this report" in live.content.decode()
    form = client.get(reverse("reporting:report-keep", args=[reported.site.pk]), {"since": SINCE.isoformat()})
    given = {
        "since": SINCE.isoformat(),
        "audience": "owner",
        "device_id": form.context["form"]["device_id"].value(),
    }

    answer = client.post(reverse("reporting:report-keep", args=[reported.site.pk]), given)

    row = Snapshot.objects.get()
    assert answer.url == row.get_absolute_url()
    for listing in (
        reverse("reporting:report-list"),
        reverse("reporting:site-detail", args=[reported.site.pk]),
        reverse("reporting:report-site", args=[reported.site.pk]),
    ):
        assert row.get_absolute_url() in page(client, reported.owner_person, listing)


def test_sending_the_form_twice_keeps_one(client, reported):
    client.force_login(reported.coordinator)
    given = {"since": SINCE.isoformat(), "audience": "firm", "device_id": uuid4()}

    answers = [
        client.post(reverse("reporting:report-keep", args=[reported.site.pk]), given) for _ in range(2)
    ]

    assert answers[0].url == answers[1].url
    assert Snapshot.objects.count() == 1


def test_a_day_in_the_future_is_refused_beside_its_field(client, firm):
    client.force_login(firm.coordinator)
    given = {"since": (TODAY + timedelta(days=1)).isoformat(), "audience": "owner", "device_id": uuid4()}

    answer = client.post(reverse("reporting:report-keep", args=[firm.site.pk]), given)

    assert "is in the future at the site" in answer.content.decode()
    assert not Snapshot.objects.exists()


def test_a_handover_record_is_kept_and_listed_on_its_page(client, firm):
    client.force_login(firm.coordinator)
    address = reverse("reporting:handover-keep", args=[firm.surface.pk])

    answer = client.post(address, {"audience": "owner", "device_id": uuid4()})

    live = reverse("reporting:handover-show", args=[firm.surface.pk])
    assert answer.url in page(client, firm.owner_person, live)


@pytest.mark.parametrize("audience", [Audience.FIRM, Audience.LINK])
def test_what_was_not_made_for_the_owner_is_not_there_for_them(client, firm, audience):
    row = keep_handover(firm, audience)
    client.force_login(firm.owner_person)

    for route in ("reporting:kept-show", "reporting:kept-download", "reporting:kept-void"):
        assert client.get(reverse(route, args=[row.pk])).status_code == 404
    assert row.get_absolute_url() not in page(client, firm.owner_person, reverse("reporting:report-list"))
    page(client, firm.viewer, row.get_absolute_url())


def test_a_withdrawn_document_says_so_to_the_firm_and_is_gone_for_the_owner(client, firm):
    row = keep_report(firm)
    client.force_login(firm.coordinator)

    client.post(reverse("reporting:kept-void", args=[row.pk]), {"reason": "Wrong year."})

    shown = page(client, firm.viewer, row.get_absolute_url())
    assert "Withdrawn" in shown
    assert "Wrong year." in shown
    client.force_login(firm.owner_person)
    assert client.get(row.get_absolute_url()).status_code == 404


def test_a_photo_set_aside_later_is_no_longer_shown_or_printed(client, firm, tmp_path):
    build(firm)
    row = keep_handover(firm)
    void_file(row=Attachment.objects.get(), by=firm.admin, reason="A face.")

    shown = page(client, firm.owner_person, row.get_absolute_url())
    printed = words_of(client.get(reverse("reporting:kept-download", args=[row.pk])).content, tmp_path)

    for text in (shown, printed):
        assert "A file that was set aside since." in text
        assert "Marks at the gate" not in text


def test_a_kept_report_is_saved_as_the_paper_it_was(client, reported, tmp_path):
    row = keep_report(reported)
    live = reverse("reporting:report-download", args=[reported.site.pk])
    client.force_login(reported.owner_person)
    before = words_of(client.get(live, {"since": SINCE.isoformat()}).content, tmp_path)

    change(reported)

    again = client.get(reverse("reporting:kept-download", args=[row.pk]))
    assert again.headers["Content-Disposition"].startswith('attachment; filename="report-')
    assert words_of(again.content, tmp_path) == before
    assert words_of(client.get(live).content, tmp_path) != before


def test_a_document_of_another_edition_says_what_to_do(client, firm):
    row = keep_report(firm)
    Snapshot.objects.filter(pk=row.pk).update(payload=row.payload | {"schema": 99})
    client.force_login(firm.viewer)

    answer = client.get(row.get_absolute_url())

    assert answer.status_code == 500
    assert "Nothing is lost: tell whoever runs this server." in answer.content.decode()


def test_lists_of_kept_documents_do_not_read_what_they_say(client, firm, django_assert_max_num_queries):
    for _ in range(3):
        keep_report(firm)
    client.force_login(firm.owner_person)

    with django_assert_max_num_queries(8) as asked:
        client.get(reverse("reporting:report-list"))

    assert not any('"payload"' in query["sql"] for query in asked.captured_queries)
