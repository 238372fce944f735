"""Who changed what, as an admin reads it on a phone and at a desk."""

import os
from pathlib import Path

import pytest

from tests.browser.conftest import DESK, PHONE

OVERFLOWS = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [PHONE, DESK | {"width": 1366}], ids=["phone", "desk"])
def test_changes_can_be_read_and_narrowed(open_page, accessible, firm, size):
    firm.site.address = "Quay 7, behind the grain store on the northern side of the old harbour"
    firm.site._history_user = firm.coordinator
    firm.site.save()

    page = open_page(firm.admin, "/changes/", size=size)
    page.get_by_label("Kind").select_option("site")
    page.get_by_role("button", name="Show", exact=True).click()
    page.get_by_text("→ Quay 7").wait_for()

    accessible(page)
    assert not page.evaluate(OVERFLOWS)
    if os.environ.get("SHOTS"):
        page.screenshot(path=Path(os.environ["SHOTS"]) / f"trail{size['width']}.png", full_page=True)
