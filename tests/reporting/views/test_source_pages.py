"""The page on which a firm marks sources as verified, and what its documents then say."""

import pytest
from django.urls import reverse

from qa.calc.citing import source_key
from reporting.models import VerifiedSource
from reporting.selectors.sources import source_rows
from tests.factories import VerifiedSourceFactory
from tests.pages import as_shown

ONTARIO = "Ontario LID Stormwater Planning and Design Guide, permeable pavement, inspection"
TYPED = {"edition": "revision of May 2024", "verified_by": "Vera Verifier", "verified_on": "2024-06-01"}


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def read(client, route, *args):
    return as_shown(client.get(reverse(route, args=args)).content.decode())


def verify(client, citation=ONTARIO, **more):
    return client.post(reverse("reporting:reference-verify", args=[source_key(citation)]), TYPED | more)


def test_a_source_that_is_verified_is_named_so_in_the_handover(office, firm):
    firm.surface.limit_preset = "ontario"
    firm.surface.save()
    before = read(office, "reporting:handover-show", firm.surface.pk)

    answer = verify(office)

    after = read(office, "reporting:handover-show", firm.surface.pk)
    said = f"{ONTARIO}, revision of May 2024, verified by Vera Verifier on 1\u00a0Jun\u00a02024"
    assert answer.status_code == 302
    assert (f"{ONTARIO} †" in before, said in before) == (True, False)
    assert (f"{ONTARIO} †" in after, said in after) == (False, True)


def test_the_list_says_what_is_verified_and_by_whom(office):
    verify(office)

    page = read(office, "reporting:reference-list")

    assert "1 of" in page
    assert "revision of May 2024, by Vera Verifier" in page


def test_a_viewer_reads_the_list_without_buttons(client, firm):
    client.force_login(firm.viewer)

    page = read(client, "reporting:reference-list")

    assert ONTARIO in page
    assert "Mark verified" not in page


def test_an_address_that_names_no_source_is_not_found(office):
    assert office.get(reverse("reporting:reference-verify", args=[source_key("no such")])).status_code == 404


def test_what_is_missing_is_said_beside_its_field(office):
    answer = verify(office, edition="")

    assert answer.context["form"].errors["edition"] == ["This field is required."]
    assert not VerifiedSource.objects.exists()


def test_taking_it_back_asks_why(office):
    verify(office)
    row = VerifiedSource.objects.get()

    office.post(reverse("reporting:reference-withdraw", args=[row.pk]), {"reason": "Wrong document."})

    row.refresh_from_db()
    assert (row.state, row.state_reason) == ("void", "Wrong document.")
    assert "not yet" in read(office, "reporting:reference-list")


def test_the_list_asks_as_often_for_many_verified_sources_as_for_none(firm, django_assert_num_queries):
    for citation in (ONTARIO, "15A NCAC 02H .1055", "ASTM D448 / AASHTO M 43"):
        VerifiedSourceFactory(organisation=firm.organisation, citation=citation)

    with django_assert_num_queries(2):
        rows = source_rows(firm.organisation)

    assert sum(row.verified is not None for row in rows) == 3


def test_the_list_is_narrowed_by_words_and_by_what_is_left_to_verify(office, firm):
    rows = source_rows(firm.organisation)
    verify(office)

    def shown(**asked):
        page = office.get(reverse("reporting:reference-list"), asked).context
        return [row.listed.source.citation for row in page["shown"]]

    assert len(shown()) == len(rows)
    assert shown(q="ontario INSPECTION") == [ONTARIO]
    assert shown(q="ontario inspection", open_only="on") == []
    assert len(shown(open_only="on")) == len(rows) - 1
    assert all("ring" in row.words for row in rows if row.listed.source.citation in shown(q="ring"))
