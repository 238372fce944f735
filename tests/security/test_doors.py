"""Who gets in, where a link may lead, and what stays inside the firm."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.timezone import localdate

from accounts.calc.roles import Role
from maintenance.models import Recommendation
from maintenance.services import forecasts
from planning.models import Crew, VisitTask
from qa.models import Site, Surface
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    InfiltrationTestFactory,
    MembershipFactory,
    OwnerFactory,
    OwnerPersonFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)
from tests.permissions import TABLE

pytestmark = pytest.mark.django_db
SIGN_IN = {"login": "anna@firm.example", "password": "a-long-password-1"}


@pytest.fixture
def firm(furnished):
    return furnished


def anna():
    return MembershipFactory(user__email="anna@firm.example").user


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://evil.example/",
        "//evil.example/",
        "/\\evil.example",
        "https:evil.example",
        "javascript:alert(1)",
        " //evil.example",
    ],
)
def test_signing_in_leads_nowhere_else(client, elsewhere):
    anna()

    answer = client.post(reverse("account_login"), SIGN_IN | {"next": elsewhere})

    assert answer.status_code == 302
    assert "evil" not in answer.url
    assert not answer.url.startswith("javascript")


def test_signing_in_leads_back_to_the_page_that_was_asked_for(client):
    anna()

    answer = client.post(reverse("account_login"), SIGN_IN | {"next": reverse("accounts:me")})

    assert answer.url == reverse("accounts:me")


def test_a_stranger_is_not_told_whether_an_address_is_known(client):
    anna()

    said = [
        client.post(reverse("account_login"), {"login": email, "password": "wrong-password-1"})
        for email in ("anna@firm.example", "nobody@firm.example")
    ]

    assert said[0].status_code == said[1].status_code == 200
    assert said[0].context["form"].errors == said[1].context["form"].errors != {}


@pytest.mark.parametrize("route", [route for route, spec in TABLE.items() if spec[0] == "post"])
def test_a_change_without_the_pages_token_is_refused_and_says_what_to_do(firm, route):
    rows = firm.rows
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(firm.admin)
    kind = TABLE[route][1]

    answer = strict.post(reverse(route, args=[rows[kind]] if kind else []))

    assert answer.status_code == 403
    assert "This page had gone stale" in answer.content.decode()


def test_a_page_cannot_be_framed_and_its_type_not_guessed(client, firm):
    client.force_login(firm.viewer)

    headers = client.get(reverse("reporting:start")).headers

    assert headers["X-Frame-Options"] == "DENY"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "bad",
    ["x", "1", "00000000-0000-4000-8000-000000000000", "../../etc/passwd", "%00", "' OR 1=1 --", "🙂"],
)
@pytest.mark.parametrize("place", ["surfaces", "rounds", "tests", "sites", "visits", "join", "owners"])
def test_an_id_that_names_nothing_is_not_found(client, firm, place, bad):
    client.force_login(firm.admin)

    assert client.get(f"/{place}/{bad}/").status_code == 404


def test_an_id_of_another_kind_of_row_is_not_found(client, firm):
    client.force_login(firm.admin)

    assert client.get(reverse("qa:round-detail", args=[firm.surface.pk])).status_code == 404


@pytest.mark.parametrize("bad", ["", "x", "00000000-0000-4000-8000-000000000000"])
def test_switching_to_a_firm_that_does_not_exist_is_not_found(client, firm, bad):
    client.force_login(firm.admin)

    assert client.post(reverse("accounts:firm-switch"), {"organisation": bad}).status_code == 404


SECRETS = {
    "access": "The key lies under the red pot.",
    "surface": "The owner haggles.",
    "owner": "Pays late.",
    "round": "The gardener was rude.",
    "test": "I hurried.",
    "cleaning": "Broke a lamp, nobody saw.",
    "crew": "Night owls",
    "price": "843.19",
}


@pytest.fixture
def secrets_of(firm):
    """Everything in the firm's record that is not for the owner's eyes, and the pages on which it might show."""
    site, surface = firm.site, firm.surface
    Site.objects.filter(pk=site.pk).update(access_note=SECRETS["access"])
    Surface.objects.filter(pk=surface.pk).update(note=SECRETS["surface"])
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(note=SECRETS["owner"])
    rows = firm.rows
    round_ = RoundFactory(surface=surface, note=SECRETS["round"])
    test = InfiltrationTestFactory(round=round_, note=SECRETS["test"])
    cleaning = CleaningFactory(surface=surface, note=SECRETS["cleaning"])
    Crew.objects.update(name=SECRETS["crew"])
    forecasts.refresh(surface.pk)
    forecast = surface.forecast
    first, *others = forecast.outlook.options
    dear = replace(first, cost_per_year=Decimal(SECRETS["price"]))
    forecast.outlook = replace(forecast.outlook, options=(dear, *others))
    forecast.save()
    advice = Recommendation.objects.get(pk=rows["recommendation"])
    VisitTask.objects.update(recommendation=advice)
    Recommendation.objects.update(status="planned", decided_at=advice.created_at, decided_by=firm.coordinator)
    return [
        reverse("reporting:start"),
        reverse("maintenance:surface-list"),
        reverse("reporting:report-site", args=[site.pk]) + "?since=2020-01-01",
        site.get_absolute_url(),
        surface.get_absolute_url(),
        firm.owner.get_absolute_url(),
        round_.get_absolute_url(),
        test.get_absolute_url(),
        cleaning.get_absolute_url(),
        reverse("planning:release-detail", args=[rows["release"]]),
        reverse("qa:construction-detail", args=[surface.pk]),
    ]


def found_on(client, pages):
    found = set()
    for url in pages:
        answer = client.get(url)
        assert answer.status_code == 200, url
        body = answer.content.decode()
        found |= {name for name, secret in SECRETS.items() if secret in body}
    return found


def test_an_owners_person_reads_no_notes_prices_or_crews(client, firm, secrets_of):
    client.force_login(firm.owner_person)

    assert found_on(client, secrets_of) == set()


def test_a_firm_of_ones_own_does_not_open_another_firms_notes(client, firm, secrets_of):
    """Anybody may found a firm; an owner's person who does must not see more of the contractor for it."""
    MembershipFactory(user=firm.owner_person, role=Role.ADMIN)
    client.force_login(firm.owner_person)

    assert found_on(client, secrets_of) == set()


def test_the_firms_own_people_read_them_all(client, firm, secrets_of):
    """The control for the two tests above: the secrets do stand on those pages."""
    client.force_login(firm.viewer)
    advice = VisitTask.objects.exclude(recommendation=None)[0].recommendation

    assert found_on(client, [*secrets_of, advice.get_absolute_url()]) == set(SECRETS)


def test_an_owner_sees_nothing_of_another_owner_of_the_same_firm(client, firm):
    other = SurfaceFactory(
        site=SiteFactory(
            owner=OwnerFactory(organisation=firm.organisation, name="Other trust"), name="Other yard"
        ),
        name="Other lane",
    )
    event = CleaningFactory(surface=other, cost=Decimal("777.77"))
    row = Recommendation.objects.create(
        surface=other,
        action="clean",
        due_on=localdate(),
        earliest_on=localdate(),
        currency="EUR",
        cost=Decimal("888.88"),
        grounds=BECAUSE,
    )
    client.force_login(firm.owner_person)

    lists = "".join(
        client.get(reverse(name), query).getvalue().decode()
        for name, query in (
            ("reporting:start", {}),
            ("maintenance:surface-list", {}),
            ("maintenance:surface-list", {"export": "csv"}),
            ("maintenance:surface-list", {"q": "Other"}),
            ("reporting:report-list", {}),
        )
    )
    details = [client.get(thing.get_absolute_url()).status_code for thing in (other, other.site, event, row)]

    assert not any(word in lists for word in ("Other yard", "Other lane", "Other trust<", "777.77", "888.88"))
    assert details == [404] * 4


def test_a_person_taken_off_an_owner_sees_nothing_at_once(client, firm):
    link = OwnerPersonFactory(owner=firm.owner)
    client.force_login(link.user)
    before = client.get(firm.surface.get_absolute_url()).status_code
    link.delete()

    after = client.get(firm.surface.get_absolute_url()).status_code

    assert (before, after) == (200, 404)


def test_a_report_takes_any_beginning_in_the_past_and_says_what_is_wrong_with_others(client, firm):
    client.force_login(firm.owner_person)
    url = reverse("reporting:report-site", args=[firm.site.pk])
    tomorrow = (localdate() + timedelta(days=2)).isoformat()

    said = {
        since: client.get(url, {"since": since}).context["problem"]
        for since in ("1900-01-01", "2020-02-30", "yesterday", tomorrow, "\x00")
    }

    assert said["1900-01-01"] == ""
    assert "'2020-02-30' is not a date" in said["2020-02-30"]
    assert "'yesterday' is not a date" in said["yesterday"]
    assert "in the future" in said[tomorrow]
    assert said["\x00"] == ""  # the character is left out, and nothing was asked
