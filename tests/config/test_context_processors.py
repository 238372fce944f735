"""Which place of the navigation is lit."""

import pytest
from django.urls import get_resolver

from config.context_processors import LIT_BY

NOUNS = {noun for nouns in LIT_BY.values() for noun in nouns.split()}


@pytest.mark.parametrize("app", ["accounts", "qa", "maintenance"])
def test_every_page_lights_a_place(app):
    _, resolver = get_resolver().namespace_dict[app]
    names = [name for name in resolver.reverse_dict if isinstance(name, str)]

    assert [name for name in names if name.split("-")[0] not in NOUNS] == []


def test_no_page_lights_two_places():
    assert sum(len(nouns.split()) for nouns in LIT_BY.values()) == len(NOUNS)
