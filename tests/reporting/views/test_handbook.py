"""The handbook as a page, and its paper."""

import re

import pytest
from django.urls import reverse

from core.calc.glossary import TERMS
from reporting.presentation.handbook.book import handbook
from tests.pages import as_shown

PAGE, PAPER = reverse("reporting:handbook-show"), reverse("reporting:handbook-download")


@pytest.mark.parametrize("actor", ["owner_person", "technician", "outsider"])
def test_everybody_who_is_signed_in_reads_it(client, firm, actor):
    client.force_login(getattr(firm, actor))

    page = as_shown(client.get(PAGE).content.decode())

    for chapter in handbook("si", "EUR", for_paper=False).chapters:
        assert f'href="#{chapter.key}"' in page
        assert f'id="{chapter.key}"' in page
    assert all(f'<dt id="{key}">' in page for key in TERMS)
    assert page.count("<svg") >= 2
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_it_is_downloaded_as_a_paper(client, firm):
    client.force_login(firm.technician)

    answer = client.get(PAPER)

    assert answer["Content-Type"] == "application/pdf"
    assert 'filename="handbook.pdf"' in answer["Content-Disposition"]
    assert answer.content.startswith(b"%PDF")


def test_the_pages_that_help_lead_to_it(client, firm):
    client.force_login(firm.admin)

    for place in ("glossary", "reporting:start-steps", "maintenance:surface-list"):
        assert f'href="{PAGE}"' in client.get(reverse(place)).content.decode()
    assert f'href="{PAPER}"' in client.get(PAGE).content.decode()


def test_who_is_not_signed_in_is_not_led_there(client, db):
    page = client.get(reverse("account_login")).content.decode()

    assert f'href="{PAGE}"' not in page
    assert f'href="{reverse("glossary")}"' in page


def test_a_page_of_it_asks_little_of_the_database(client, firm, django_assert_max_num_queries):
    client.force_login(firm.technician)
    client.get(PAGE)

    with django_assert_max_num_queries(8):
        client.get(PAGE)
