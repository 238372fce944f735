"""Whatever people type is shown as they typed it, never run by the browser."""

import pytest
from django.apps import apps
from django.db import models
from django.urls import reverse

from maintenance.calc.advice_payload import Grounds
from maintenance.models import Forecast, Recommendation
from maintenance.services import forecasts
from planning.models import VisitTask
from qa.models import InfiltrationTest
from tests.factories import LayerFactory, LocationFactory
from tests.permissions import TABLE, rows_of

pytestmark = pytest.mark.django_db

PAYLOAD = "<u>x</u>\"'"
# Text that the program itself chooses among, reads as a key, or checks by its form.
NOT_FREE = {"time_zone", "token", "currency", "password", "key", "limit_preset", "size", "source_status"}
OURS = ("accounts", "qa", "maintenance")
LEAST_ROOM = 16


def free_texts(model):
    return [
        field.name
        for field in model._meta.concrete_fields
        if type(field) in (models.CharField, models.TextField)
        and not field.choices
        and field.name not in NOT_FREE
        and (field.max_length is None or field.max_length >= LEAST_ROOM)  # PostgreSQL holds it to its length
    ]


def poison(model):
    """Put markup into every free text of every row; returns how many texts that were."""
    names = free_texts(model)
    for number, row in enumerate(model._base_manager.all()):
        texts = dict.fromkeys(names, f"{PAYLOAD}{number}")
        model._base_manager.filter(pk=row.pk).update(**texts)
    return len(names) * model._base_manager.count()


@pytest.fixture
def poisoned(firm):
    """A firm with a row of every kind, markup in each text, and a forecast that holds some."""
    rows = rows_of(firm)
    LayerFactory(surface=firm.surface)
    location = LocationFactory(surface=firm.surface)
    InfiltrationTest.objects.update(location=location)
    forecasts.refresh(firm.surface.pk)
    Recommendation.objects.update(grounds_json=Grounds(1, (PAYLOAD,)).to_json(), status="open")
    VisitTask.objects.update(recommendation=Recommendation.objects.first())
    count = sum(poison(model) for model in apps.get_models() if model._meta.app_label in OURS)
    assert count > 60
    Forecast.objects.update(error="")
    return rows


def places(rows):
    for route, (method, kind, _) in TABLE.items():
        if method == "get":
            yield route, reverse(route, args=[rows[kind]] if kind else [])


@pytest.mark.parametrize("actor", ["admin", "owner_person"])
def test_no_text_reaches_any_page_as_markup(client, firm, poisoned, actor):
    client.force_login(getattr(firm, actor))
    seen_escaped, as_markup = 0, []

    for route, url in places(poisoned):
        response = client.get(url)
        if not response["Content-Type"].startswith("text/html"):  # a file to take away, not a page
            continue
        body = response.content.decode()
        seen_escaped += "&lt;u&gt;x&lt;/u&gt;" in body
        if "<u>x</u>" in body:
            as_markup.append(route)

    assert as_markup == []
    assert seen_escaped > 15


def test_a_chart_cannot_be_left_by_a_closing_script_tag(client, firm):
    test = InfiltrationTest.objects.get(pk=rows_of(firm)["test"])
    InfiltrationTest.objects.filter(pk=test.pk).update(spot="</script><u>x</u>")
    forecasts.refresh(firm.surface.pk)
    client.force_login(firm.viewer)

    body = client.get(firm.surface.get_absolute_url()).content.decode()

    assert 'id="decline-data"' in body
    assert "</script><u>" not in body


def test_what_was_typed_into_a_refused_form_is_shown_escaped(client, firm):
    client.force_login(firm.coordinator)
    url = reverse("qa:surface-edit", args=[firm.surface.pk])

    body = client.post(url, {"name": PAYLOAD, "area_m2": PAYLOAD, "note": PAYLOAD}).content.decode()

    assert "<u>x</u>" not in body
    assert body.count("&lt;u&gt;x&lt;/u&gt;") >= 3
