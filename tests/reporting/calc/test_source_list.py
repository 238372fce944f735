"""The list of sources holds every source that a document can print."""

import pytest

from core.calc.paving import SurfaceType
from qa.calc import check_sources
from qa.calc.citing import NAMES_A_DOCUMENT
from qa.calc.sources import Source
from reporting.calc.source_list import listed_sources

LISTED = {one.source.citation for one in listed_sources()}
# Practices of a stage and of a method are said elsewhere than beside a criterion.
UNUSED_BY_CHECKS = {check_sources.RING_TEST}


@pytest.mark.parametrize(
    "name", [name for name, value in vars(check_sources).items() if isinstance(value, Source)]
)
def test_each_source_of_a_check_that_names_a_document_is_listed(name):
    source = getattr(check_sources, name)

    assert source.citation in LISTED or source in UNUSED_BY_CHECKS or source.status not in NAMES_A_DOCUMENT


def test_no_source_without_a_document_is_listed():
    assert {one.source.status for one in listed_sources()} <= NAMES_A_DOCUMENT


def test_each_is_listed_once_and_says_what_rests_on_it():
    citations = [one.source.citation for one in listed_sources()]

    assert len(citations) == len(set(citations))
    assert all(one.uses for one in listed_sources())


def test_standards_of_the_ring_test_on_every_kind_of_surface_are_listed():
    methods = {one.source.citation for one in listed_sources() if any("ring" in use for use in one.uses)}

    assert len(methods) >= 4
    assert len(SurfaceType) > 4
