"""The page of a surface while its forecast is being made: it says so, and shows the new one by itself."""

import re

import pytest

from maintenance.services import forecasts
from tests.browser.conftest import DESK, PHONE
from tests.factories import InfiltrationTestFactory, RoundFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_new_forecast_comes_to_the_page_by_itself(firm, open_page, accessible, workers_elsewhere, size):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecasts.request_forecast(firm.surface.pk)
    page = open_page(firm.technician, firm.surface.get_absolute_url(), size=size)
    said = page.get_by_role("status").filter(has_text=re.compile("forecast is being updated"))
    said.wait_for()
    accessible(page)

    assert forecasts.refresh(firm.surface.pk) == "done"

    said.wait_for(state="detached")
    page.get_by_text(re.compile("Likely")).first.wait_for(state="attached")
