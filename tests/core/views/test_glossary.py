"""The page with every word."""

import pytest
from django.urls import reverse

from core.calc.glossary import TERMS
from tests.pages import as_shown

URL = reverse("glossary")


def test_it_explains_every_word_to_anybody(client, db):
    answer = client.get(URL)

    text = as_shown(answer.content.decode())
    assert answer.status_code == 200
    for term in TERMS.values():
        assert f'id="{term.key}"' in text
        assert term.meaning in text


def test_every_page_leads_there(client, db):
    assert f'href="{URL}"' in client.get(reverse("account_login")).content.decode()


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_it_is_only_read(client, db, method):
    assert getattr(client, method)(URL).status_code == 405
