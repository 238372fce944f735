"""What strangers open by a secret link: the document it was made for or the tests of sites, and nothing beyond."""

import csv
import io
import logging
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.services.log_lines import MaskedLine
from qa.models import TestRound
from reporting.models import LinkOpening, SharedLink, Snapshot
from reporting.services import kept, links
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)
from tests.reporting.papers import words_of
from tests.reporting.planted import HANDOVER, MARKS, plant

SINCE = TODAY - timedelta(days=365)
# What an inspector may read of the planted texts: what was found and done, and nothing of who, why and for how much.
INSPECTED = {
    "what-the-inspection-found",
    "how-it-was-put-right",
    "source-that-was-stopped",
    "Vacuum sweeping",
}


def address(link, route="show"):
    return reverse(f"reporting:shared-{route}", args=[links.make_address(link=link, to=None)])


def to_document(firm, document, **changes):
    link = SharedLink(for_whom="x", ends_on=TODAY + timedelta(days=9), **changes)
    return links.share_document(link=link, document=document, by=firm.coordinator)


def to_sites(firm, *sites, since=SINCE, until=None, **changes):
    link = SharedLink(
        for_whom="secret-name-of-the-link",
        since=since,
        until=until,
        ends_on=TODAY + timedelta(days=9),
        **changes,
    )
    return links.share_sites(
        link=link, organisation=firm.organisation, sites=sites or (firm.site,), by=firm.coordinator
    )


def handover(firm, audience=Audience.LINK):
    return kept.freeze_handover(surface=firm.surface, audience=audience, by=firm.coordinator)


def rows_in(answer):
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(b"".join(answer).decode())))


def found_in(text):
    return {mark.text for mark in MARKS if "".join(mark.text.split()) in "".join(text.split())}


@pytest.mark.parametrize("audience", [Audience.OWNER, Audience.LINK])
def test_a_document_is_shown_as_it_was_kept_for_its_audience(client, firm, tmp_path, audience):
    plant(firm)
    link = to_document(firm, handover(firm, audience))
    expected = {mark.text for mark in MARKS if audience in mark.where.get(HANDOVER, ())}
    url = address(link)

    page, paper = client.get(url), client.get(url + "document.pdf")

    assert found_in(page.content.decode()) == expected
    assert paper["Content-Type"] == "application/pdf"
    assert found_in(words_of(paper.content, tmp_path)) == expected


@pytest.mark.parametrize("audience", [Audience.OWNER, Audience.LINK])
def test_a_report_is_shown_as_it_was_kept_with_its_pdf(client, firm, tmp_path, audience):
    plant(firm)
    document = kept.freeze_report(site=firm.site, audience=audience, since=SINCE, by=firm.coordinator)
    url = address(to_document(firm, document))

    page, paper = client.get(url), client.get(url + "document.pdf")

    said = found_in(page.content.decode()), found_in(words_of(paper.content, tmp_path))
    may_not = {m.text for m in MARKS if "report" in m.where and audience not in m.where["report"]}
    assert all(not texts & may_not for texts in said)
    assert all(("Tessa Technician" in texts) == (audience is Audience.OWNER) for texts in said[:1])
    assert "how-it-was-put-right" in said[0]


def test_an_inspector_reads_tests_limit_and_works_and_nothing_that_links_may_not_show(client, firm, tmp_path):
    plant(firm)
    url = address(to_sites(firm))

    page = client.get(url).content.decode()
    rows = rows_in(client.get(url + "tests-and-works.csv"))
    certificates = [
        words_of(client.get(f"{url}certificate.pdf?round={round_.pk}").content, tmp_path)
        for round_ in TestRound.objects.active()
    ]

    text_of_rows = " ".join(value for row in rows for value in row.values())
    assert found_in(page) == INSPECTED
    assert found_in(text_of_rows) == INSPECTED
    assert [found_in(text) for text in certificates] == [set()]
    for text in (page, text_of_rows, *certificates):
        for inner in ("secret-name-of-the-link", firm.coordinator.email, "EUR"):
            assert inner not in text
    assert f"certificate.pdf?round={TestRound.objects.get().pk}" in page
    assert "Acceptance round" in page
    assert "construction checks are settled" in page


def test_the_rows_say_what_the_page_says_with_numbers_as_numbers(client, firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY)
    test = InfiltrationTestFactory(round=round_)
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - timedelta(days=3), method="vacuum")
    url = address(to_sites(firm))

    tested, cleaned = rows_in(client.get(url + "tests-and-works.csv"))

    assert (tested["Date"], tested["What"], tested["Test methods"]) == (
        TODAY.isoformat(),
        "Routine round",
        "Constant-head single ring",
    )
    assert float(tested["Geometric mean rate (mm/h)"]) == pytest.approx(test.rate_mm_h, abs=1e-3)
    assert float(tested["Limit (mm/h)"]) == pytest.approx(firm.surface.limit_mm_h)
    assert "below the limit" in tested["Result"] or "Cannot tell" in tested["Result"]
    assert (cleaned["What"], cleaned["Geometric mean rate (mm/h)"]) == ("Vacuum sweeping", "")


def test_it_speaks_in_the_units_it_was_made_for(client, firm):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY))
    url = address(to_sites(firm, units="us"))

    assert "in/h" in client.get(url).content.decode()
    assert "Limit (in/h)" in rows_in(client.get(url + "tests-and-works.csv"))[0]


def test_what_lies_outside_the_period_the_sites_or_the_count_is_not_behind_it(client, firm):
    early = RoundFactory(surface=firm.surface, tested_on=SINCE - timedelta(days=1))
    late = RoundFactory(surface=firm.surface, tested_on=TODAY)
    void = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=5), state="void")
    elsewhere = RoundFactory(
        surface=SurfaceFactory(site=SiteFactory(owner=firm.owner)), tested_on=TODAY - timedelta(days=5)
    )
    inside = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1))
    for round_ in (early, late, void, elsewhere, inside):
        InfiltrationTestFactory(round=round_)
    url = address(to_sites(firm, until=TODAY - timedelta(days=1)))

    page = client.get(url).content.decode()
    status = {
        name: client.get(f"{url}certificate.pdf?round={getattr(round_, 'pk', round_)}").status_code
        for name, round_ in {
            "early": early,
            "late": late,
            "void": void,
            "elsewhere": elsewhere,
            "no id": "x",
            "inside": inside,
        }.items()
    }

    assert page.count("certificate.pdf?round=") == 1
    assert str(inside.pk) in page
    assert status == dict.fromkeys(("early", "late", "void", "elsewhere", "no id"), 404) | {"inside": 200}


def test_it_shows_the_record_as_it_stands_when_it_is_opened(client, firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY)
    InfiltrationTestFactory(round=round_)
    url = address(to_sites(firm))
    assert "certificate.pdf?round=" in client.get(url).content.decode()

    TestRound.objects.filter(pk=round_.pk).update(state="void")

    page = client.get(url).content.decode()
    assert "certificate.pdf?round=" not in page
    assert "Nothing was recorded in this period" in page


def test_a_site_that_was_sold_is_shown_no_longer(client, firm):
    url = address(to_sites(firm))
    firm.site.owner = OwnerFactory(organisation=firm.organisation)
    firm.site.save()

    page = client.get(url).content.decode()

    assert firm.surface.name not in page
    assert "No surface is recorded" in page


def test_an_inspectors_page_takes_as_many_queries_for_many_surfaces_and_rounds_as_for_one(client, firm):
    def fill(surface, rounds):
        for day in range(rounds):
            InfiltrationTestFactory(
                round=RoundFactory(surface=surface, tested_on=TODAY - timedelta(days=day))
            )
            CleaningFactory(surface=surface, cleaned_on=TODAY - timedelta(days=day))

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert client.get(url).status_code == 200
        return len(seen)

    fill(firm.surface, 1)
    url = address(to_sites(firm))
    client.get(url)
    few = queries()
    for _ in range(4):
        fill(SurfaceFactory(site=firm.site), 3)

    assert queries() == few


@pytest.fixture
def shared(firm):
    """A link to a handover record, and every address behind it and one to sites."""
    link = to_document(firm, handover(firm))
    url, sites = address(link), address(to_sites(firm))
    return link, [url, f"{url}document.pdf", sites, f"{sites}tests-and-works.csv"]


def test_no_cache_no_search_engine_and_no_other_page_learns_the_address(client, shared):
    for url in (*shared[1], reverse("reporting:shared-show", args=["unknown-secret-unknown-secret"])):
        answer = client.get(url)

        assert answer["Cache-Control"] == "no-store, private", url
        assert answer["X-Robots-Tag"].startswith("noindex"), url
        assert answer["Referrer-Policy"] == "no-referrer", url


def end_by_revoking(firm, link):
    links.revoke_link(link=link, by=firm.admin)


def end_by_time(firm, link):
    SharedLink.objects.filter(pk=link.pk).update(expires_at=now() - timedelta(seconds=1))


def end_by_withdrawing(firm, link):
    kept.withdraw(document=Snapshot.objects.get(), by=firm.admin, reason="Wrong.")


@pytest.mark.parametrize("end", [end_by_revoking, end_by_time, end_by_withdrawing])
def test_an_ended_link_says_so_and_nothing_of_what_it_opened(client, firm, shared, end):
    link, (url, paper, *_) = shared
    end(firm, link)

    for one in (url, paper):
        answer = client.get(one)
        text = answer.content.decode()
        assert answer.status_code == 410
        assert "This link has ended" in text
        for leak in (firm.surface.name, firm.site.name, firm.owner.name, firm.organisation.name, "andover"):
            assert leak not in text
    assert not LinkOpening.objects.exists()


def test_an_unknown_secret_answers_404_in_plain_words_also_to_people_of_the_firm(client, firm, shared):
    for person in (None, firm.admin):
        if person:
            client.force_login(person)
        answer = client.get(reverse("reporting:shared-show", args=["x" * 43]))

        assert answer.status_code == 404
        assert "No document is at this address" in answer.content.decode()


def test_one_kind_of_link_opens_nothing_of_the_other(client, firm):
    document, sites = address(to_document(firm, handover(firm))), address(to_sites(firm))

    answers = [
        client.get(document + "tests-and-works.csv"),
        client.get(document + f"certificate.pdf?round={RoundFactory(surface=firm.surface).pk}"),
        client.get(sites + "document.pdf"),
    ]

    assert [answer.status_code for answer in answers] == [404, 404, 404]


def test_a_document_of_another_edition_says_that_it_cannot_be_read(client, firm, shared):
    Snapshot.objects.update(payload={"schema": 999})

    answer = client.get(shared[1][0])

    assert answer.status_code == 500
    assert "cannot be read at the moment" in answer.content.decode()
    assert answer["Referrer-Policy"] == "no-referrer"


def test_openings_are_counted_by_part_but_not_those_of_the_office_or_of_heads(client, firm, shared):
    _, (url, paper, sites, rows) = shared
    for one in (url, paper, sites, rows):
        client.head(one)
    client.force_login(firm.coordinator)
    client.get(url)
    assert not LinkOpening.objects.exists()

    client.force_login(firm.owner_person)
    for one in (url, paper, sites):
        client.get(one)
    client.logout()
    b"".join(client.get(rows))

    counted = sorted(LinkOpening.objects.values_list("part", "times"))
    assert counted == [("page", 1), ("page", 1), ("paper", 1), ("rows", 1)]


def test_the_kind_of_device_is_told_of_each_opening(client, firm, shared):
    _, (url, *_) = shared
    client.get(url, headers={"User-Agent": "Mozilla/5.0 (Linux; Android 14) Mobile"})
    client.get(url, headers={"User-Agent": "curl/8.5.0"})

    kinds = sorted(LinkOpening.objects.values_list("device", "times"))

    assert kinds == [("phone", 1), ("program", 1)]


def test_a_shared_page_offers_no_way_into_the_rest_even_to_who_is_signed_in(client, firm, shared):
    client.force_login(firm.coordinator)

    for url in shared[1][::2]:
        page = client.get(url).content.decode()
        assert 'aria-label="Places"' not in page
        assert "csrfmiddlewaretoken" not in page
        assert firm.coordinator.email not in page


def test_the_secret_of_a_link_does_not_reach_the_log(shared):
    line = logging.LogRecord("x", logging.INFO, "", 0, "GET %s", (shared[1][0],), None)

    assert "/shared/(secret)/" in MaskedLine().format(line)
    assert shared[1][0].split("/")[2] not in MaskedLine().format(line)


def test_nothing_is_changed_by_a_post(client, shared):
    assert [client.post(url).status_code for url in shared[1]] == [405] * 4


def test_an_inspector_is_told_the_geometric_mean_that_the_owner_reads(client, firm):
    """1,000 and 10 mm/h: 100, where the arithmetic mean would be 505."""
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY)
    for spot, rate in (("A", 1000.0), ("B", 10.0)):
        test = InfiltrationTestFactory(round=round_, spot=spot)
        type(test).objects.filter(pk=test.pk).update(rate_mm_h=rate, is_valid=True)

    page = client.get(address(to_sites(firm))).content.decode()

    said = " ".join(page.replace("\u00a0", " ").split())
    assert "geometric mean 100" in re.sub(r"<[^>]+>", "", said)
