"""Every page that an owner's person can open: no word and no price of advice that the office has not released."""

from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.calc.advice_payload import Grounds
from maintenance.calc.text import money
from maintenance.models import Recommendation
from maintenance.services import forecasts, releases
from tests.clock import TODAY
from tests.factories import SurfaceFactory
from tests.permissions import ACTORS, TABLE, rows_of

OWNER = ACTORS.index("owner_person")
OPEN_TO_OWNERS = [
    route for route, (how, _, answers) in TABLE.items() if how == "get" and answers[OWNER] == 200
]
HIDDEN = (
    "word-never-released",
    "6,161",
    "6161.61",
    "7,272",
    "7272.72",
    "word-since-the-release",
    "8,383",
    "8383.83",
)


def advise(surface, action, word, price, saved):
    reasons = (word, f"It saves {money(Decimal(saved), 'EUR')} against waiting.")
    return Recommendation.objects.create(
        surface=surface,
        action=action,
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal(price),
        waiting_costs=Decimal(saved),
        grounds=Grounds(surface.record_version, reasons),
    )


@pytest.fixture
def advised(firm):
    """Advice never released, advice withdrawn, and advice that changed after its release, all of one owner."""
    rows = rows_of(firm)
    forecasts.refresh(firm.surface.pk)
    Recommendation.objects.exclude(pk=rows["recommendation"]).delete()
    advise(firm.surface, "clean", "word-never-released", "6161.61", "7272.72")
    withdrawn = advise(SurfaceFactory(site=firm.site), "clean", "word-never-released", "6161.61", "7272.72")
    (release,) = releases.release(recommendations=[withdrawn], by=firm.coordinator)
    releases.withdraw(release=release, by=firm.coordinator, reason="word-never-released")
    changed = advise(firm.surface, "source", "word-of-the-release", "100.00", "200.00")
    (shown,) = releases.release(recommendations=[changed], by=firm.coordinator)
    changed.cost, changed.grounds = Decimal("8383.83"), Grounds(1, ("word-since-the-release",))
    changed.save()
    releases.note_changes(surface=firm.surface)
    return {**rows, "release": shown.pk}


def pages_of(client, rows):
    """Every answer with its text; a file's bytes as Latin letters."""
    for route in OPEN_TO_OWNERS:
        kind = TABLE[route][1]
        answer = client.get(reverse(route, args=[rows[kind]] if kind else []))
        assert answer.status_code == 200, route
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        yield route, body.decode("latin-1")


def test_no_owner_page_holds_unreleased_advice_or_its_price(client, firm, advised):
    client.force_login(firm.owner_person)

    found = [(route, word) for route, text in pages_of(client, advised) for word in HIDDEN if word in text]

    assert found == []


def test_the_pages_do_show_what_was_released_with_its_date(client, firm, advised):
    """The control for the walk: it passes the pages on which advice stands."""
    client.force_login(firm.owner_person)

    where = {route for route, text in pages_of(client, advised) if "word-of-the-release" in text}

    assert where >= {
        "reporting:start",
        "reporting:surface-detail",
        "reporting:report-site",
        "planning:release-detail",
    }


def test_the_firm_does_find_each_of_the_words_on_its_own_page(client, firm, advised):
    client.force_login(firm.coordinator)

    page = client.get(reverse("reporting:surface-detail", args=[firm.surface.pk])).content.decode()

    assert {"word-never-released", "6,161", "word-since-the-release", "8,383"} <= {
        w for w in HIDDEN if w in page
    }
