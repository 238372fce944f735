"""From an account to a firm: what is asked, and what follows from it."""

import pytest
from django.urls import reverse

from accounts.models import Organisation, User
from accounts.views.sign_up_adapter import JOIN_KEY
from tests.factories import OrganisationFactory, UserFactory
from tests.sending import confirm

FOUND = reverse("accounts:firm-found")
SIGN_UP = reverse("account_signup")
NEW = {"email": "ada@stone.example", "password1": "soak-away-2026", "password2": "soak-away-2026"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def newcomer(client):
    client.force_login(UserFactory())
    return client


def test_who_opens_an_account_says_their_name_and_is_led_to_the_firm(client):
    answer = client.post(SIGN_UP, NEW | {"full_name": "Ada Steiner"})

    assert answer.url == FOUND
    assert str(User.objects.get(email=NEW["email"])) == "Ada Steiner"


@pytest.mark.parametrize("name", ["", "x" * 121])
def test_without_a_usable_name_there_is_no_account(client, name):
    answer = client.post(SIGN_UP, NEW | {"full_name": name})

    assert answer.status_code == 200
    assert not User.objects.exists()


def test_who_came_by_an_invitation_goes_back_to_it(client):
    session = client.session
    session[JOIN_KEY] = "a-token"
    session.save()

    answer = client.post(SIGN_UP, NEW | {"full_name": "Ada Steiner"})

    assert answer.url == reverse("accounts:invitation-accept", args=["a-token"])


@pytest.mark.parametrize(
    ("country", "currency", "zone", "units"),
    [
        ("DE", "EUR", "Europe/Berlin", "si"),
        ("US", "USD", "America/New_York", "us"),
        ("CH", "CHF", "Europe/Zurich", "si"),
    ],
)
def test_currency_units_and_zone_follow_from_the_country(newcomer, country, currency, zone, units):
    newcomer.post(FOUND, {"name": "Stone", "country": country})

    firm = Organisation.objects.get()
    assert (firm.country, firm.currency, firm.time_zone) == (country, currency, zone)
    assert firm.memberships.get().user.units == units


def test_what_is_chosen_goes_before_what_is_usual(newcomer):
    chosen = {"currency": "CHF", "time_zone": "Europe/Vienna", "units": "us"}

    newcomer.post(FOUND, {"name": "Stone", "country": "DE"} | chosen)

    firm = Organisation.objects.get()
    assert (firm.currency, firm.time_zone) == ("CHF", "Europe/Vienna")
    assert firm.memberships.get().user.units == "us"


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"country": "DE"}, "This field is required"),
        ({"name": "Stone"}, "This field is required"),
        ({"name": "Stone", "country": "XX"}, "Select a valid choice"),
        ({"name": "Stone", "country": "AQ"}, "currency of Antarctica is not known"),
        ({"name": "Stone", "country": "DE", "currency": "XYZ"}, "Select a valid choice"),
        ({"name": "Stone", "country": "DE", "time_zone": "Mars/North"}, "is not a known time zone"),
        ({"name": "Stone", "country": "DE", "units": "furlongs"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_stores_nothing(newcomer, sent, words):
    page = newcomer.post(FOUND, sent).content.decode()

    assert words in page
    assert not Organisation.objects.exists()


def test_what_was_refused_in_a_folded_part_is_shown_open(newcomer):
    page = newcomer.post(FOUND, {"name": "Stone", "country": "AQ"}).content.decode()

    assert '<details class="more" open>' in page
    assert '<details class="more" >' in newcomer.get(FOUND).content.decode()


def test_the_new_firm_is_told_what_was_set_and_shown_its_first_steps(newcomer):
    page = newcomer.post(FOUND, {"name": "Stone", "country": "DE"}, follow=True).content.decode()

    assert "Stone is set up: EUR, Europe/Berlin." in page
    assert "First steps" in page


def test_settings_keep_country_and_zone(firm, client):
    client.force_login(firm.admin)
    confirm(client)
    url = reverse("accounts:firm-settings")
    form = client.get(url).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}

    client.post(url, data | {"country": "AT", "time_zone": "Europe/Vienna"})

    firm.organisation.refresh_from_db()
    assert (firm.organisation.country, firm.organisation.time_zone) == ("AT", "Europe/Vienna")


def test_a_firm_that_said_no_country_has_none(firm):
    assert OrganisationFactory().country == ""
    assert firm.organisation.time_zone == "UTC"
