"""Drop-down lists: the same marks that the form library's own templates make."""

import re

import pytest
from django.forms import ChoiceField, Form, Select
from django.forms.renderers import DjangoTemplates

GROUPED = [("", "None"), ("Few", [("a", "One & <two>"), (1000, 1000)]), ("b", 'Said "so"')]


def drop_down(chosen, **attrs):
    class Asking(Form):
        kind = ChoiceField(choices=GROUPED, required=False, widget=Select(attrs))

    return Asking({"kind": chosen})["kind"]


def without_blanks(marks):
    return re.sub(r"\s+", " ", re.sub(r"\s+>", ">", re.sub(r">\s+<", "><", str(marks).strip())))


@pytest.mark.parametrize("chosen", ["", "a", "1000", "b"])
@pytest.mark.parametrize("attrs", [{}, {"class": "wide", "disabled": True}])
def test_choices_are_written_as_by_the_library(chosen, attrs):
    field = drop_down(chosen, **attrs)
    plain = field.field.widget.render(
        "kind", chosen, field.build_widget_attrs({}) | {"id": "id_kind"}, DjangoTemplates()
    )
    assert without_blanks(field) == without_blanks(plain)
    assert "One &amp; &lt;two&gt;" in str(field)
    assert str(field).count(" selected>") == 1


def test_there_are_no_blanks_between_the_choices():
    assert not re.search(r">\s+<", str(drop_down("a")).strip())
