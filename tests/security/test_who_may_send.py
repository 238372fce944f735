"""Every form, sent by everybody who may not: refused as its page is, and nothing is stored."""

import pytest

from tests.permissions import ACTORS, TABLE
from tests.sending import as_shown, everything_stored, url_of

REFUSED = (403, 404)
FORMS = [
    route
    for route, (method, _, answers) in TABLE.items()
    if any(answer in REFUSED for answer in answers) and method == "get"
]
BUTTONS = [route for route, (method, _, _) in TABLE.items() if method == "post"]


@pytest.fixture
def firm(furnished):
    return furnished


def refused_at(route):
    """Who is refused there, and how; a stranger is led to the sign-in, or needs a secret whoever they are."""
    answers = zip(ACTORS, TABLE[route][2], strict=True)
    return [(actor, answer) for actor, answer in answers if answer in REFUSED and actor != "anonymous"]


@pytest.mark.parametrize("route", FORMS)
def test_a_form_sent_by_who_may_not_open_it_is_refused_and_stores_nothing(client, firm, route):
    rows = firm.rows
    url = url_of(route, rows)
    client.force_login(firm.admin)
    page = client.get(url)
    shown = {} if page.streaming else as_shown(page.content.decode(errors="replace"))
    typed = shown | {"reason": ["A good reason."]}
    takes_forms = client.post(url, {}).status_code != 405
    before = everything_stored()

    for actor, answer in refused_at(route):
        client.force_login(getattr(firm, actor))
        sent = client.post(url, typed)
        assert sent.status_code == (answer if takes_forms else 405), actor

    assert everything_stored() == before


@pytest.mark.parametrize("route", BUTTONS)
def test_a_button_pressed_by_who_may_not_changes_nothing(client, firm, route):
    rows = firm.rows
    before = everything_stored()

    for actor, answer in refused_at(route):
        client.force_login(getattr(firm, actor))
        assert client.post(url_of(route, rows), {"role": "50"}).status_code == answer, actor

    assert everything_stored() == before


# Where strangers may open a page, its link is the permission.
@pytest.mark.parametrize("route", [one for one in (*FORMS, *BUTTONS) if TABLE[one][2][0] == 302])
def test_a_stranger_who_sends_a_form_is_asked_to_sign_in(client, firm, route):
    rows = firm.rows
    before = everything_stored()

    answer = client.post(url_of(route, rows), {"reason": "A good reason."})

    assert answer.status_code in (302, 405)
    assert everything_stored() == before


WITH_REASON = [
    "qa:round-void",
    "qa:test-void",
    "qa:entry-void",
    "qa:work-void",
    "qa:soil-test-void",
    "qa:sieving-void",
    "qa:file-void",
    "maintenance:cleaning-void",
    "maintenance:cleaning-file-void",
    "reporting:kept-void",
    "planning:recommendation-decline",
    "planning:visit-cancel",
]


@pytest.mark.parametrize("route", WITH_REASON)
def test_what_asks_why_is_not_done_without_a_reason(client, firm, route):
    rows = firm.rows
    client.force_login(firm.admin)
    before = everything_stored()

    answers = [client.post(url_of(route, rows), {"reason": reason}) for reason in ("", " \n ")]

    for answer in answers:
        assert answer.status_code == 200
        assert "reason" in answer.context["form"].errors
    assert everything_stored() == before


@pytest.mark.parametrize("route", WITH_REASON)
def test_what_asks_why_is_done_with_one(client, firm, route):
    """The control for the test above and for the refusals: the same sending by who may changes something."""
    rows = firm.rows
    client.force_login(firm.admin)
    before = everything_stored()

    answer = client.post(url_of(route, rows), {"reason": "It was the wrong one."})

    assert answer.status_code == 302
    assert any("It was the wrong one." in row for row in everything_stored() - before)


@pytest.mark.parametrize("route", WITH_REASON)
def test_what_asks_why_is_done_once(client, firm, route):
    rows = firm.rows
    client.force_login(firm.admin)
    client.post(url_of(route, rows), {"reason": "The first reason."})
    before = everything_stored()

    again = client.post(url_of(route, rows), {"reason": "Another reason."})

    assert again.status_code in (403, 404, 409)
    assert everything_stored() == before
