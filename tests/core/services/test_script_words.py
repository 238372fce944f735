"""What scripts say reaches the page in the reader's language."""

import json
import re

import pytest
from django.template.loader import render_to_string
from django.utils.translation import override

PART = "parts/_script_words.html"


def words(language):
    with override(language):
        block = render_to_string(PART)
    found = re.search(r'<script id="script-words" type="application/json">(.*?)</script>', block, re.DOTALL)
    return json.loads(found[1])


def test_a_page_in_english_brings_none():
    with override("en-gb"):
        assert "<script" not in render_to_string(PART)


def test_a_page_in_french_brings_them_with_plurals_as_pairs():
    brought = words("fr")

    assert brought["language"] == "fr"
    assert brought["texts"]["Dark colours"] == "Couleurs sombres"
    assert brought["texts"]["{count} file"] == ["{count} fichier", "{count} fichiers"]


@pytest.mark.parametrize("wanted", ["No signal", "First page"])
def test_what_the_worker_says_is_among_them(wanted):
    assert words("fr")["texts"][wanted] != wanted
