"""Where the page of a row is."""

import pytest
from django.urls import reverse, set_script_prefix

from core.models.pages import page_of
from qa.models import Location, Site, Surface


@pytest.mark.parametrize(
    ("model", "route"), [(Surface, "reporting:surface-detail"), (Site, "reporting:site-detail")]
)
def test_the_page_of_a_row_is_what_its_route_says(model, route):
    for row in (model(), model()):
        assert page_of(row) == row.get_absolute_url() == reverse(route, args=[row.pk])


def test_it_lies_below_where_the_program_answers():
    row = Surface()
    before = page_of(row)
    set_script_prefix("/rain/")
    try:
        assert page_of(row) == f"/rain{before}"
    finally:
        set_script_prefix("/")


def test_a_row_without_a_page_has_no_address():
    with pytest.raises(KeyError):
        page_of(Location())
