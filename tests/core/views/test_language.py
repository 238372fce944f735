"""In which language a page is written: as the person chose, else as their browser asks."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory
from django.urls import reverse
from django.utils import translation

from core.views.language import LanguageMiddleware

SIGN_IN = {"en-gb": "Back to signing in", "fr": "Retour à la connexion"}


def asks(language):
    return {"Accept-Language": language}


@pytest.mark.parametrize(
    ("asked", "got"),
    [
        ("fr", "fr"),
        ("fr-CA,fr;q=0.9,en;q=0.5", "fr"),
        ("en-US,en;q=0.9,fr;q=0.1", "en-gb"),
        ("de,fr;q=0.8", "fr"),
        ("de", "en-gb"),
        ("nonsense;;q", "en-gb"),
        ("", "en-gb"),
    ],
)
def test_a_stranger_reads_as_the_browser_asks_among_what_there_is(client, db, asked, got):
    answer = client.get(reverse("account_reset_password_done"), headers=asks(asked))

    page = answer.content.decode()
    assert SIGN_IN[got] in page
    assert f'<html lang="{got}">' in page
    assert answer["Content-Language"] == got
    assert "Accept-Language" in answer["Vary"]


@pytest.mark.parametrize(("chosen", "heading"), [("fr", "Vos informations"), ("en-gb", "Your details")])
def test_what_a_person_chose_wins_over_what_the_browser_asks(client, firm, chosen, heading):
    firm.coordinator.language = chosen
    firm.coordinator.save()
    client.force_login(firm.coordinator)

    answer = client.get(reverse("accounts:me"), headers=asks("en" if chosen == "fr" else "fr"))

    assert f"<h1>{heading}</h1>" in answer.content.decode()
    assert answer["Content-Language"] == chosen
    assert "Accept-Language" not in answer["Vary"]


def test_a_person_who_chose_none_reads_as_their_browser_asks(client, firm):
    client.force_login(firm.coordinator)

    assert (
        "<h1>Vos informations</h1>" in client.get(reverse("accounts:me"), headers=asks("fr")).content.decode()
    )


def test_a_choice_changes_the_next_page_and_what_is_said_on_it(client, firm):
    client.force_login(firm.coordinator)
    details = {"full_name": "Ana", "units": "si", "language": "fr"}

    page = client.post(reverse("accounts:me"), details, follow=True).content.decode()

    assert '<html lang="fr">' in page
    assert "Vos informations sont enregistrées." in page
    assert "Se déconnecter" in page
    back = client.post(reverse("accounts:me"), details | {"language": ""}, follow=True)
    assert '<html lang="en-gb">' in back.content.decode()


def test_nobody_is_looked_for_without_a_session(monkeypatch):
    """A probe, or a program with a token, costs no query for its language."""
    request = RequestFactory().get("/live/", headers=asks("fr"))  # without a user: to look for one would fail
    seen = []

    answer = LanguageMiddleware(lambda request: seen.append(translation.get_language()) or HttpResponse())(
        request
    )

    assert seen == ["fr"]
    assert answer["Content-Language"] == "fr"


def test_a_probe_costs_no_query(client, django_assert_num_queries, db):
    with django_assert_num_queries(0):
        assert client.get(reverse("operations:live"), headers=asks("fr")).status_code == 200


def test_a_fault_of_ours_is_said_in_the_readers_language(client, firm, monkeypatch):
    def broken(*args, **kwargs):
        raise RuntimeError

    monkeypatch.setattr("accounts.views.people.ProfileForm", broken)
    client.force_login(firm.coordinator)
    client.raise_request_exception = False

    answer = client.get(reverse("accounts:me"), headers=asks("fr"))

    assert answer.status_code == 500
    assert '<html lang="fr">' in answer.content.decode()
    assert "La page n’a pas pu être produite" in answer.content.decode()
