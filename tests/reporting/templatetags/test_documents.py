"""Facts that may be missing on pages of sites and surfaces."""

from types import SimpleNamespace

import pytest

from reporting.calc.snapshots import SurfaceFacts
from reporting.templatetags.documents import position, without_indents


@pytest.mark.parametrize(
    ("latitude", "longitude", "shown"),
    [(0.0, 0.0, "0.00000, 0.00000"), (51.5, -0.123456, "51.50000, -0.12346"), (None, None, "")],
)
def test_a_place_on_the_equator_is_a_place(latitude, longitude, shown):
    assert position(SimpleNamespace(latitude_deg=latitude, longitude_deg=longitude)) == shown


@pytest.mark.parametrize(("invert_mm", "has"), [(None, False), (0.0, True), (120.0, True)])
def test_an_overflow_at_the_subgrade_is_an_overflow(invert_mm, has):
    facts = SurfaceFacts("Cars", 0.0, "", 0.0, False, False, False, invert_mm, None, None)

    assert facts.has_overflow is has


def test_a_document_is_sent_without_its_indents_and_with_its_words():
    assert without_indents("<p>\n    Two  words\n\n\t<b>&lt;3</b>") == "<p>\nTwo  words\n\n<b>&lt;3</b>"
