"""Deciding on several pieces of advice at once, and showing them to owners."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.models import AdviceRelease, Recommendation
from maintenance.services import releases
from planning.models import VisitTask
from tests.clock import TODAY
from tests.factories import BECAUSE, CrewFactory, SurfaceFactory

PAGES = ["advice-plan", "advice-put-off", "advice-decline", "advice-release"]


def advice_for(surface, **changes):
    values = {"action": "clean", "method": "vacuum", "due_on": TODAY, "earliest_on": TODAY}
    values |= {"currency": "EUR", "cost": Decimal("450.00"), "grounds": BECAUSE}
    return Recommendation.objects.create(surface=surface, **values | changes)


@pytest.fixture
def two(firm, client):
    """Two surfaces of one site with the same advice, seen by the coordinator."""
    client.force_login(firm.coordinator)
    return [advice_for(firm.surface), advice_for(SurfaceFactory(site=firm.site))]


def of_trip(firm, page, **more):
    return f"{reverse(f'planning:{page}')}?trip={firm.site.pk}:clean&shown=open&next=/"


def ticked(rows, **more):
    return {"advice": [str(row.pk) for row in rows], **more}


def statuses():
    return sorted(Recommendation.objects.values_list("status", flat=True))


@pytest.mark.parametrize("page", PAGES)
def test_the_page_of_a_trip_lists_all_its_surfaces_ticked(client, firm, two, page):
    shown = client.get(of_trip(firm, page)).content.decode()

    for row in two:
        assert row.surface.name in shown
    assert shown.count("checked") == 2


def test_a_trip_is_planned_as_one_visit(client, firm, two):
    crew = CrewFactory(organisation=firm.organisation)

    client.post(of_trip(firm, "advice-plan"), ticked(two, visit_on=TODAY, crew=crew.pk))

    assert statuses() == ["planned", "planned"]
    assert VisitTask.objects.values("visit").distinct().count() == 1


def test_a_trip_that_is_sent_twice_is_planned_once(client, firm, two):
    crew = CrewFactory(organisation=firm.organisation)
    sent = ticked(two, visit_on=TODAY, crew=crew.pk)

    for _ in range(2):
        client.post(of_trip(firm, "advice-plan"), sent)

    assert VisitTask.objects.count() == 2
    assert VisitTask.objects.values("visit").distinct().count() == 1


def test_a_crew_of_another_firm_is_not_offered_and_is_refused(client, firm, two):
    theirs = CrewFactory()

    shown = client.get(of_trip(firm, "advice-plan")).content.decode()
    answer = client.post(of_trip(firm, "advice-plan"), ticked(two, visit_on=TODAY, crew=theirs.pk))

    assert theirs.name not in shown
    assert "not one of the available choices" in answer.content.decode()
    assert statuses() == ["open", "open"]


def test_what_is_unticked_is_left(client, firm, two):
    client.post(of_trip(firm, "advice-decline"), ticked(two[:1], reason="Next year."))

    assert statuses() == ["declined", "open"]


def test_several_are_put_off_until_a_day(client, firm, two):
    until = TODAY + timedelta(days=30)

    client.post(of_trip(firm, "advice-put-off"), ticked(two, until=until.isoformat()))

    assert set(Recommendation.objects.values_list("status", "put_off_until")) == {("put_off", until)}


def test_a_day_in_the_past_is_refused_with_what_was_typed_kept(client, firm, two):
    page = client.post(of_trip(firm, "advice-put-off"), ticked(two, until="2020-01-01", reason="Wet"))

    assert "cannot be put off to" in page.content.decode()
    assert "Wet" in page.content.decode()
    assert statuses() == ["open", "open"]


def test_several_are_released_and_the_page_says_at_which_words_and_price(client, firm, two):
    shown = client.get(of_trip(firm, "advice-release")).content.decode()
    client.post(of_trip(firm, "advice-release"), ticked(two))

    assert shown.count("450.00") == 4  # in what owners will read, and beside each tick
    assert {row.recommendation for row in AdviceRelease.objects.all()} == set(two)


@pytest.mark.parametrize("page", PAGES)
def test_advice_of_another_firm_cannot_be_chosen(client, firm, two, page):
    theirs = advice_for(SurfaceFactory())

    answer = client.get(f"{reverse(f'planning:{page}')}?advice={theirs.pk}&next=/", follow=True)

    assert theirs.surface.name not in answer.content.decode()
    assert "Nothing is chosen" in answer.content.decode()


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("query", ["trip=nonsense", "advice=1", "trip=a:b"])
def test_nonsense_is_not_found(client, firm, two, page, query):
    assert client.get(f"{reverse(f'planning:{page}')}?{query}").status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_it_leads_nowhere_else(client, firm, two, page):
    answer = client.get(f"{reverse(f'planning:{page}')}?next=https://elsewhere.example/")

    assert answer.url == "/"


def test_a_withdrawal_wants_a_reason_and_takes_it_from_the_owner(client, firm, two):
    (release, _) = releases.release(recommendations=two, by=firm.admin)
    address = reverse("planning:release-withdraw", args=[release.pk])

    refused = client.post(address, {"reason": " "})
    client.post(address, {"reason": "Too dear."})

    assert refused.status_code == 200
    release.refresh_from_db()
    assert release.state == "withdrawn"
    client.force_login(firm.owner_person)
    assert client.get(release.get_absolute_url()).status_code == 404
