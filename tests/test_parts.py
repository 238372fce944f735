"""Every shared part renders from a dictionary, with the marks a page and a screen reader rely on."""

from pathlib import Path

import django_tables2 as tables
import pytest
from django import forms
from django.conf import settings
from django.contrib.messages.storage.base import Message
from django.core.paginator import Paginator
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.utils import translation
from pytest_django.asserts import assertInHTML

from core.templatetags.parts import value_attribute
from tests.pages import as_shown


class SampleForm(forms.Form):
    area_m2 = forms.FloatField(label="Area", min_value=0, help_text="As built.")
    zone = forms.ChoiceField(widget=forms.RadioSelect, choices=[("edge", "edge strip"), ("low", "low spot")])
    notes = forms.CharField(required=False, widget=forms.Textarea)
    dry = forms.BooleanField(required=False, label="No rain in the 24 hours before")


class SampleTable(tables.Table):
    rate = tables.Column(verbose_name="Rate (mm/h)")

    class Meta:
        empty_text = "No tests yet. Add the first one."


def part(name, **context):
    return as_shown(render_to_string(f"parts/{name}", context, request=context.get("request")))


@pytest.mark.parametrize(
    ("state", "word"),
    [
        ("draining", "draining well"),
        ("watch", "watch"),
        ("clean_soon", "clean soon"),
        ("below_limit", "below limit"),
        ("not_tested", "not tested yet"),
    ],
)
def test_a_state_is_told_by_word_and_mark(state, word):
    html = part("_status.html", state=state)

    assert word in html
    assert f"#state-{state}" in html


def test_a_field_carries_unit_hint_and_error_for_its_input():
    form = SampleForm({"area_m2": "-3"})

    html = part("_field.html", field=form["area_m2"], unit="m²")

    assert 'aria-describedby="id_area_m2_helptext id_area_m2_error"' in html
    assert 'id="id_area_m2_helptext"' in html
    assert 'id="id_area_m2_error"' in html
    assertInHTML("<span>m²</span>", html)


def test_choices_are_a_group_with_a_tile_for_each():
    html = part("_field.html", field=SampleForm()["zone"])

    assert "<fieldset" in html
    assert html.count('class="tile"') == 2


def test_an_optional_field_says_so():
    assert "(optional)" in part("_field.html", field=SampleForm()["notes"])
    assert "(optional)" not in part("_field.html", field=SampleForm()["area_m2"])


def test_a_form_with_errors_starts_with_links_to_them():
    html = part("_form.html", form=SampleForm({"area_m2": "-3"}))

    assert 'href="#id_area_m2"' in html
    assert 'href="#id_zone_0"' in html
    assert html.index("error-summary") < html.index("fields")


def test_a_fresh_form_has_no_error_summary():
    assert "error-summary" not in part("_form.html", form=SampleForm())


def test_a_form_shows_its_groups_as_fieldsets():
    form = SampleForm()
    form.groups = [{"title": "Where", "hint": "On the plan.", "fields": [form["zone"]]}]

    html = part("_form.html", form=form)

    assert ">Where</legend>" in html
    assert "id_notes" not in html


def test_an_error_message_interrupts_and_a_success_does_not():
    html = part("_messages.html", messages=[Message(40, "Not saved."), Message(25, "Saved.")])

    assert '<span role="alert">Not saved.</span>' in html
    assert '<span role="status">Saved.</span>' in html


def test_an_empty_place_says_what_to_do_first():
    html = part(
        "_empty.html", title="No surfaces yet", text="Add one.", url="/surfaces/new/", action="Add a surface"
    )

    assert 'href="/surfaces/new/"' in html
    assert "Add a surface" in html


def test_pages_keep_the_rest_of_the_address():
    request = RequestFactory().get("/tests/?site=4&page=2")
    page = Paginator(range(100), 10).page(2)

    html = part("_pagination.html", page=page, request=request)

    assert "11 to 20 of 100" in html
    assert "site=4&amp;page=3" in html


def test_a_single_page_needs_no_pages():
    page = Paginator(range(5), 10).page(1)

    assert "<nav" not in part("_pagination.html", page=page, request=RequestFactory().get("/"))


def test_a_table_names_its_cells_for_phones_and_its_order_for_readers():
    request = RequestFactory().get("/")
    table = SampleTable([{"rate": 1}, {"rate": 2}], order_by="-rate")

    html = part("_table.html", table=table, request=request)

    assert html.count('data-label="Rate (mm/h)"') == 2
    assert 'aria-sort="descending"' in html


def test_an_empty_table_says_what_to_do_first():
    html = part("_table.html", table=SampleTable([]), request=RequestFactory().get("/"))

    assert "Add the first one." in html
    assert "<table" not in html


def test_a_chart_holds_its_numbers_in_words_and_as_data():
    html = part(
        "_chart.html",
        chart_id="rate",
        title="Rate",
        summary="It falls.",
        figure={"data": [{"type": "scatter", "x": [1, 2], "y": [3, 4]}], "layout": {}},
        columns=["Day"],
        rows=[[1]],
    )

    assert 'data-chart="rate-data"' in html
    assert 'id="rate-data" type="application/json"' in html
    assert "It falls." in html
    assert "<td>1</td>" in html
    assert 'role="img" aria-labelledby="rate-title" aria-describedby="rate-summary"' in html


def test_no_page_sends_the_drawing_library_by_itself_and_every_chart_names_it_for_later():
    naming = {
        path.name: path.read_text(encoding="utf-8")
        for path in Path(settings.BASE_DIR, "templates").rglob("*.html")
        if "plotly.min" in path.read_text(encoding="utf-8")
    }

    assert list(naming) == ["_chart.html"]
    assert "<script" not in naming["_chart.html"]
    assert "data-library=\"{% static 'plotly/plotly.min.js' %}\"" in naming["_chart.html"]


def test_a_stopwatch_names_the_input_it_fills():
    html = part("_stopwatch_field.html", field=SampleForm(prefix="a")["area_m2"], start="Water on")

    assert 'data-stopwatch="a-area_m2"' in html
    assert 'data-start-label="Water on"' in html


@pytest.mark.parametrize("name", ["_ground.html", "_ring_live.html", "_ring_mass.html"])
def test_parts_without_needs_render_alone(name):
    assert part(name).strip()


def test_the_server_error_page_needs_nothing_at_all():
    html = render_to_string("500.html")

    assert "The page could not be made" in html
    assert "/static/" not in html


def test_the_page_shown_is_marked_and_pages_left_out_are_a_gap():
    page = Paginator(range(500), 10).page(2)

    html = part("_pagination.html", page=page, request=RequestFactory().get("/"))

    assert '<span class="pages__here" aria-current="page">2</span>' in html
    assert '<span class="pages__gap">…</span>' in html


class MixedTable(tables.Table):
    plain = tables.Column(localize=False)
    spoken = tables.Column(localize=True)


def test_a_cell_is_in_the_readers_language_where_its_column_asks_for_it():
    with translation.override("de"):
        html = part(
            "_table.html",
            table=MixedTable([{"plain": 1.5, "spoken": 2.5}]),
            request=RequestFactory().get("/"),
        )

    assert "<span>1.5</span>" in html
    assert "<span>2,5</span>" in html


@pytest.mark.parametrize(("value", "attribute"), [(None, ""), ("", 'value=""'), ('"x', 'value="&quot;x"')])
def test_an_input_without_a_value_has_none(value, attribute):
    assert value_attribute(value) == attribute
