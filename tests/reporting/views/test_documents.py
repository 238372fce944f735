"""Reports and handover records made from the record as it stands."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from core.calc.format import day
from maintenance.services import forecasts
from reporting.views.documents import period_start
from tests.clock import TODAY
from tests.factories import InfiltrationTestFactory, RainRecordFactory, RoundFactory
from tests.reporting.papers import words_of
from tests.reporting.selectors.test_certificates import accept
from tests.reporting.selectors.test_handovers import build


def test_the_page_shows_the_handover_record(client, firm):
    build(firm)
    client.force_login(firm.owner_person)

    page = client.get(reverse("reporting:handover-show", args=[firm.surface.pk])).content.decode()

    for said in ("Marked by the service.", "Accepted by the designer.", "9170 mm/h", "not complete"):
        assert said in page


def test_the_download_is_a_pdf_with_a_plain_name(client, firm):
    firm.surface.name = 'Yard "../x"\r\n'
    firm.surface.save()
    client.force_login(firm.viewer)

    response = client.get(reverse("reporting:handover-download", args=[firm.surface.pk]))

    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Content-Disposition"].endswith('-yard-x.pdf"')
    assert response.content.startswith(b"%PDF-")


def test_a_report_is_saved_as_a_pdf_of_the_period_asked_for(client, firm, tmp_path):
    client.force_login(firm.owner_person)
    since = TODAY - timedelta(days=90)

    answer = client.get(
        reverse("reporting:report-download", args=[firm.site.pk]), {"since": since.isoformat()}
    )

    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].endswith(f'-{TODAY.isoformat()}.pdf"')
    assert f"{day(since)} to {day(TODAY)}".replace("\xa0", " ") in words_of(answer.content, tmp_path)


def test_the_page_of_a_report_sends_no_chart_library(client, firm):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecasts.refresh(firm.surface.pk)
    client.force_login(firm.owner_person)

    page = client.get(reverse("reporting:report-site", args=[firm.site.pk])).content.decode()

    assert "plotly" not in page
    assert 'alt="Rate over time on a logarithmic scale' in page
    assert len(page) < 60_000


@pytest.mark.parametrize(
    ("asked", "since", "problem"),
    [
        ("", TODAY - timedelta(days=365), ""),
        ("2020-02-29", None, ""),
        ("yesterday", TODAY - timedelta(days=365), "'yesterday' is not a date."),
        ("1900-01-01", None, ""),
        ("1899-12-31", TODAY - timedelta(days=365), f"Give {day('1900-01-01')} or later."),
        ("0001-01-01", TODAY - timedelta(days=365), f"{day('0001-01-01')} is too long ago."),
        ((TODAY + timedelta(days=1)).isoformat(), TODAY - timedelta(days=365), "is in the future."),
    ],
)
def test_a_report_covers_the_period_asked_for_or_the_last_year(asked, since, problem):
    start, said = period_start(asked, TODAY)

    assert since is None or start == since
    assert problem in said


def test_a_day_before_all_records_is_told_on_a_site_east_of_greenwich_with_a_rain_record(client, firm):
    firm.site.time_zone = "Pacific/Auckland"
    firm.site.rain_record = RainRecordFactory(organisation=firm.organisation)
    firm.site.save()
    client.force_login(firm.coordinator)
    old = {"since": "0001-01-01"}

    page = client.get(reverse("reporting:report-site", args=[firm.site.pk]), old)
    paper = client.get(reverse("reporting:report-download", args=[firm.site.pk]), old)
    form = client.post(
        reverse("reporting:report-keep", args=[firm.site.pk]),
        old | {"audience": "owner", "device_id": uuid4()},
    )

    assert f"{day('0001-01-01')} is too long ago" in page.content.decode()
    assert paper.headers["Content-Type"] == "application/pdf"
    assert form.status_code == 200
    assert f"{day('0001-01-01')} is too long ago" in form.content.decode()


def test_ways_to_keep_are_offered_to_coordinators_alone(client, firm):
    address = reverse("reporting:report-site", args=[firm.site.pk])
    offered = {}
    for person in (firm.owner_person, firm.technician, firm.coordinator):
        client.force_login(person)
        offered[person] = "Keep this report" in client.get(address).content.decode()

    assert list(offered.values()) == [False, False, True]


def test_the_round_offers_its_certificate_to_the_owners_people_too(client, firm):
    round_ = accept(firm)
    client.force_login(firm.owner_person)
    address = reverse("reporting:certificate-download", args=[round_.pk])

    page = client.get(reverse("qa:round-detail", args=[round_.pk])).content.decode()
    response = client.get(address)

    assert f'href="{address}"' in page
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Content-Disposition"].endswith('-2024-03-01.pdf"')
    assert response.content.startswith(b"%PDF-")
