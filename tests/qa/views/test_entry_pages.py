"""Forms tell what is wrong with the value, start from what is known, and confirm what was stored."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse

from accounts.models import Invitation
from accounts.services import people
from core.calc.units import UnitSystem
from qa.calc.counts import count_deviation
from qa.calc.limits import Agreed, governing_limit
from qa.calc.outlines import SurfacePlan
from qa.calc.sources import Source, SourceStatus
from qa.presentation.drawing.plan import draw_plan
from qa.templatetags.measures import days_from, months
from tests.factories import (
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    RoundFactory,
)
from tests.pages import as_shown

pytestmark = pytest.mark.django_db


def test_a_row_that_is_refused_is_named_above_the_rows(client, firm):
    layer = LayerFactory(surface=firm.surface, kind="base")
    client.force_login(firm.coordinator)
    rows = {
        "layers-TOTAL_FORMS": "1",
        "layers-INITIAL_FORMS": "1",
        "layers-0-id": str(layer.pk),
        "layers-0-kind": "base",
        "layers-0-thickness_mm": "-40",
        "layers-0-porosity": "40",
    }

    text = as_shown(client.post(reverse("qa:layer-edit", args=[firm.surface.pk]), rows).content.decode())

    assert "Layer 1, thickness: -40 mm is too small. Give 0.5 mm or more." in text
    assert "40.0 is too large. Give 0.95 or less." in text
    assert "data-error-summary" in text


def test_a_huge_number_comes_back_in_plain_digits(client, firm):
    client.force_login(firm.coordinator)

    answer = client.post(reverse("qa:surface-create", args=[firm.site.pk]), {"area_m2": "1200000000"})

    assert "1200000000 m² is too large. Give 1000000 m² or less." in answer.content.decode()


def test_a_new_site_starts_from_the_only_owner_and_the_newest_time_zone(client, firm):
    firm.site.time_zone = "America/Chicago"
    firm.site.save()
    client.force_login(firm.coordinator)

    form = client.get(reverse("qa:site-create")).context["form"]

    assert (form["owner"].value(), form["time_zone"].value()) == (firm.owner.pk, "America/Chicago")


def test_no_owner_is_chosen_where_there_are_several(client, firm):
    OwnerFactory(organisation=firm.organisation)
    client.force_login(firm.coordinator)

    assert not client.get(reverse("qa:site-create")).context["form"]["owner"].value()


def test_months_are_given_by_name():
    assert months([12, 1]) == "January, December"
    assert months([]) == "none"


def test_a_recorded_cleaning_is_confirmed(client, firm):
    client.force_login(firm.technician)
    form = {"cleaned_on": "2026-06-01", "method": "vacuum", "share_of_area": "1", "wetness": "dry"}

    answer = client.post(reverse("maintenance:cleaning-create", args=[firm.surface.pk]), form, follow=True)

    assert "Vacuum sweeping of 1\u00a0Jun\u00a02026 stored." in answer.content.decode()


def test_inviting_a_person_again_ends_the_first_link(firm):
    first, second = (
        people.invite(organisation=firm.organisation, by=firm.admin, email=email)
        for email in ("tam@example.org", "Tam@example.org")
    )

    assert list(Invitation.objects.filter(email="tam@example.org")) == [second.invitation]
    assert first.token != second.token


def test_a_new_link_is_shown_once_and_ends_the_first(client, firm):
    first = people.invite(organisation=firm.organisation, by=firm.admin, email="tam@example.org")
    client.force_login(firm.admin)
    renew = reverse("accounts:invitation-renew", args=[first.invitation.pk])

    shown = client.post(renew, follow=True).content.decode()
    later = client.get(reverse("accounts:firm")).content.decode()

    (link,) = set(re.findall(r"/join/[\w-]+/", shown))
    assert "/join/" not in later
    assert client.get(link).status_code == 200
    assert client.get(reverse("accounts:invitation-accept", args=[first.token])).status_code == 404


def test_whoever_reads_the_database_finds_no_link(firm):
    invited = people.invite(organisation=firm.organisation, by=firm.admin, email="tam@example.org")

    stored = " ".join(str(value) for value in Invitation.objects.values_list()[0])

    assert invited.token not in stored


def test_a_firm_without_sites_is_led_to_the_first_one(client, firm):
    client.force_login(firm.outsider)

    text = as_shown(client.get(reverse("maintenance:surface-list")).content.decode())

    assert "Add the first site" in text
    assert "No surface fits" not in text


def test_a_source_is_not_said_twice():
    practice = Source("Common practice", SourceStatus.COMMON_PRACTICE)

    agreed = governing_limit(agreed=Agreed(250.0, "contract 4, clause 2"))

    assert practice.in_full == "Common practice, no source."
    assert "contract 4, clause 2" in agreed.reason
    assert "contract 4" not in agreed.source_in_full


@pytest.mark.parametrize(
    ("days", "words"),
    [(1, "1 day late"), (59, "59 days late"), (64, "2 months late"), (2228, "6 years late")],
)
def test_what_is_long_overdue_is_said_in_words_people_use(days, words):
    today = date(2026, 6, 1)

    assert days_from(today - timedelta(days=days), today) == words


def test_a_single_spot_is_spoken_of_as_one():
    short = count_deviation(1, 2000.0, UnitSystem.SI)

    assert short is not None
    assert short.message.startswith("1 spot was tested; ")


@pytest.mark.parametrize(("system", "words"), [(UnitSystem.SI, "1.5 m wide"), (UnitSystem.US, "4.9 ft wide")])
def test_the_plan_gives_the_edge_strip_in_the_readers_units(system, words):
    corners = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))

    assert words in draw_plan(SurfacePlan(corners, run_on_edges=(0,)), (), name="Yard", system=system)


def test_a_round_before_the_opening_starts_as_the_acceptance(client, firm):
    client.force_login(firm.technician)
    url = reverse("qa:round-create", args=[firm.surface.pk])

    before = client.get(url).context["form"]["purpose"].value()
    firm.surface.opened_on = firm.site.today() + timedelta(days=20)
    firm.surface.save()

    assert (before, client.get(url).context["form"]["purpose"].value()) == ("routine", "acceptance")


def test_the_next_test_starts_at_the_first_location_still_to_do(client, firm):
    first, second = LocationFactory(surface=firm.surface), LocationFactory(surface=firm.surface)
    round_ = RoundFactory(surface=firm.surface)
    client.force_login(firm.technician)
    url = reverse("qa:test-create", args=[round_.pk])

    assert client.get(url).context["form"].initial["location"] == str(first.pk)

    InfiltrationTestFactory(round=round_, location=first)
    assert client.get(url).context["form"].initial["location"] == str(second.pk)
