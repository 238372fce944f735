"""A word that explains itself where it stands."""

import pytest
from django.template import Context, Template
from django.urls import reverse

from core.calc.glossary import TERMS


def shown(text):
    return Template("{% load terms %}" + text).render(Context({"mine": "<b>mine</b>"}))


@pytest.mark.parametrize("key", TERMS)
def test_a_word_opens_its_meaning_without_a_script(key):
    html = shown(f'{{% term "{key}" %}}')

    assert (
        html.index("<details") < html.index("<summary") < html.index("</summary>") < html.index("</details>")
    )
    assert f'href="{reverse("glossary")}#{key}"' in html
    assert ("Worked out:" in html) is bool(TERMS[key].computed)


def test_it_may_stand_in_other_words():
    html = shown('{% term "limit" "The limit here" %}')

    assert "The limit here</summary>" in html
    assert TERMS["limit"].meaning in html


def test_what_stands_there_is_escaped():
    assert "&lt;b&gt;mine" in shown('{% term "limit" mine %}')


def test_a_word_that_nobody_explained_is_a_mistake_of_ours():
    with pytest.raises(KeyError):
        shown('{% term "no_such_word" %}')


def test_words_of_a_table_stand_above_it_each_with_its_meaning():
    html = shown('{% words "rate" "limit" %}')

    assert html.count("<details") == 2
    assert TERMS["rate"].meaning in html
    assert TERMS["limit"].meaning in html


def test_of_words_none_may_be_unexplained():
    with pytest.raises(KeyError):
        shown('{% words "rate" "no_such_word" %}')
