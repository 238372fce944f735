"""Pages of rain records."""

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.factories import InfiltrationTestFactory, RainRecordFactory, RoundFactory, SiteFactory
from tests.sending import as_shown

pytestmark = pytest.mark.django_db
DAYS = "time,rain_mm\n2026-05-28,0\n2026-05-29,0\n2026-05-30,0\n2026-05-31,12.5\n2026-06-01,8\n2026-06-02,0\n"


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


@pytest.fixture
def record(firm):
    return RainRecordFactory(organisation=firm.organisation)


def send(client, record, text=DAYS, **values):
    sent = {
        "table": SimpleUploadedFile(
            "rain.csv", text if isinstance(text, bytes) else text.encode(), "text/csv"
        )
    }
    choices = {"step": "1440", "stamp": "begin"}
    return client.post(reverse("qa:rain-add", args=[record.pk]), sent | choices | values)


def test_a_table_is_read_and_its_months_are_shown(office, record):
    answer = send(office, record)

    page = office.get(answer.url).content.decode()
    assert "12.5 mm in 13\u00a0% of it" in page
    assert "20.5 mm" in page


def test_depths_are_shown_in_the_units_of_the_reader(office, firm, record):
    send(office, record)
    firm.coordinator.units = "us"
    firm.coordinator.save()

    assert "0.492 in" in office.get(record.get_absolute_url()).content.decode()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time,rain_mm\nyesterday,1\n", "Line 2: &#x27;yesterday&#x27; is not a time"),
        (b"time,rain_mm\n2026-05-31,\xe9\n", "not text in UTF-8"),
        ("a,b\n1,2\n", "must name the columns time and rain_mm"),
    ],
)
def test_a_file_that_cannot_be_read_stores_nothing_and_says_why(office, record, text, words):
    answer = send(office, record, text)

    assert words in answer.content.decode()
    assert not record.covers.exists()


def test_a_file_that_is_too_large_is_refused_with_its_size(office, record, monkeypatch):
    monkeypatch.setattr("qa.forms.rain.MOST_MB", 0)

    assert "at most 0 are read at once" in send(office, record).content.decode()


def test_a_site_chooses_among_the_records_of_its_firm(office, firm, record):
    other = RainRecordFactory()
    address = reverse("qa:site-edit", args=[firm.site.pk])

    page = office.get(address)
    office.post(address, as_shown(page.content.decode()) | {"rain_record": str(record.pk)})

    firm.site.refresh_from_db()
    assert firm.site.rain_record == record
    assert str(other) not in page.content.decode()


def test_a_firm_without_a_record_is_not_asked_for_one(office, firm):
    assert (
        "rain_record" not in office.get(reverse("qa:site-edit", args=[firm.site.pk])).context["form"].fields
    )


@pytest.fixture
def wet_round(firm, office, record):
    """Written as dry for two days; the record has rain of the same day and the day before."""
    firm.site.rain_record, firm.site.time_zone = record, "UTC"
    firm.site.save()
    send(office, record)
    round_ = RoundFactory(surface=firm.surface, tested_on=date(2026, 6, 2), hours_since_rain=72.0)
    InfiltrationTestFactory(round=round_)
    return round_


def test_the_office_reads_on_the_round_what_the_record_says_against_it(office, wet_round):
    page = office.get(wet_round.get_absolute_url()).content.decode()

    assert "0 to 48 h before, by the rain record" in page
    assert "72 h were written" in page


def test_the_record_lists_the_tests_it_does_not_bear_out(office, record, wet_round):
    page = office.get(record.get_absolute_url()).content.decode()

    assert "Tests it does not bear out" in page
    assert wet_round.get_absolute_url() in page


def test_the_owner_reads_the_hours_and_not_the_firms_doubts(client, firm, wet_round):
    client.force_login(firm.owner_person)

    page = client.get(wet_round.get_absolute_url()).content.decode()

    assert "by the rain record" in page
    assert "were written" not in page


def test_the_list_costs_as_many_queries_for_many_records(office, firm, django_assert_max_num_queries):
    for _ in range(6):
        SiteFactory(owner=firm.owner, rain_record=RainRecordFactory(organisation=firm.organisation))

    with django_assert_max_num_queries(9):
        office.get(reverse("qa:rain-list"))
