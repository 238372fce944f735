"""Rows of a formset: what was sent, what was removed or added meanwhile, and what of it is filled."""

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from core.forms.fresh import lists_of
from qa.forms.buildups import layer_formset, location_formset
from qa.forms.rowsets import (
    MOST_ROWS,
    REMOVE,
    add_refusal_to_rows,
    is_filled,
    kept_forms,
    removed_rows,
    rows_sent,
    rows_to_send,
)
from qa.models import Layer, Location
from tests.factories import LayerFactory, LocationFactory

NAMES = st.sampled_from(["label", "kind", "x_m", "zone"])
ROWS = st.lists(st.dictionaries(NAMES, st.text(min_size=1, max_size=5), min_size=1), max_size=5)


def locations(surface, data=None):
    return location_formset(surface, "si", data)


def page_of(formset):
    """What a browser would send of the rows that nobody touched; spare rows are left blank."""
    prefix = formset.prefix
    forms = [*formset.initial_forms]
    data = {
        f"{prefix}-TOTAL_FORMS": str(len(forms)),
        f"{prefix}-INITIAL_FORMS": str(len(forms)),
    }
    for number, form in enumerate(forms):
        for name in form.fields:
            value = form[name].value()
            if value not in (None, False, ""):
                data[f"{prefix}-{number}-{name}"] = str(getattr(value, "pk", value))
    return data


def with_row(data, prefix="locations", **typed):
    """The same with one more row below."""
    number = int(data[f"{prefix}-TOTAL_FORMS"])
    row = {f"{prefix}-{number}-{name}": value for name, value in typed.items()}
    return data | row | {f"{prefix}-TOTAL_FORMS": str(number + 1)}


def told(formset):
    assert not formset.is_valid()
    return " ".join(formset.non_form_errors())


@pytest.fixture
def two(firm):
    """A surface with two locations and the page that shows them."""
    rows = [LocationFactory(surface=firm.surface, label=label) for label in ("A", "B")]
    return firm.surface, rows, page_of(locations(firm.surface))


# ---- What was sent -------------------------------------------------------------------------------


@given(ROWS, ROWS)
def test_rows_come_back_as_they_are_sent(known, new):
    assert rows_sent(rows_to_send("rows", known, new), "rows") == [*known, *new]


@pytest.mark.parametrize("total", ["", "x", "-1", "1.5", " ", str(MOST_ROWS + 1), "9" * 40, "٣x"])
def test_a_count_of_rows_that_is_none_or_beyond_all_use_gives_no_rows(total):
    assert rows_sent({"rows-TOTAL_FORMS": total, "rows-0-label": "A"}, "rows") == []


def test_without_a_count_there_are_no_rows():
    assert rows_sent({"rows-0-label": "A"}, "rows") == []


def test_rows_beyond_the_count_and_of_other_prefixes_are_left_out():
    data = {"rows-TOTAL_FORMS": "1", "rows-0-label": "A", "rows-7-label": "B", "other-0-label": "C"}
    data |= {"rows-x-label": "D", "rows-": "E", "rows": "F"}

    assert rows_sent(data, "rows") == [{"label": "A"}]


def test_the_stored_rows_are_sent_first_and_counted(db):
    data = rows_to_send("rows", [{"id": "1"}], [{"label": "B"}, {"label": "C"}])

    assert (data["rows-TOTAL_FORMS"], data["rows-INITIAL_FORMS"]) == ("3", "1")
    assert data["rows-2-label"] == "C"


# ---- What others did meanwhile -------------------------------------------------------------------


def test_rows_that_stand_as_shown_are_taken_at_once(two):
    surface, _, page = two

    formset = locations(surface, page)

    assert formset.is_valid()
    assert (formset.moved, len(kept_forms(formset))) == ([], 2)


def test_a_row_that_was_added_is_told_by_name_and_stands_among_the_others(two):
    surface, _, page = two
    LocationFactory(surface=surface, label="Theirs")

    formset = locations(surface, page)

    assert "Theirs (interior) was added" in told(formset)
    assert [form.instance.label for form in formset.initial_forms] == ["A", "B", "Theirs"]


def test_a_row_that_was_removed_comes_back_as_a_new_one_with_what_was_typed(two):
    surface, (first, _), page = two
    first.delete()

    formset = locations(surface, page | {"locations-0-description": "by the gate"})

    assert "a row was removed; what you have of it stands below as a new one" in told(formset)
    (known, new) = formset.forms
    assert known.instance.label == "B"
    assert (new.instance._state.adding, new["description"].value()) == (True, "by the gate")


def test_who_marks_for_removal_what_is_gone_already_is_told_nothing(two):
    surface, (first, _), page = two
    first.delete()

    formset = locations(surface, page | {"locations-0-DELETE": "on"})

    assert formset.is_valid()
    assert removed_rows(formset) == []
    assert [form.instance.label for form in kept_forms(formset)] == ["B"]


def test_sent_again_what_was_told_is_taken(two):
    surface, (first, _), page = two
    first.delete()
    LocationFactory(surface=surface, label="Theirs")
    again = locations(surface, page)
    told(again)

    formset = locations(surface, again.data)

    assert formset.is_valid(), (formset.errors, formset.non_form_errors())
    assert [form.cleaned_data["label"] for form in kept_forms(formset)] == ["B", "Theirs", "A"]


def test_a_row_of_another_surface_is_none_of_these(two):
    surface, _, page = two
    stranger = LocationFactory(label="Elsewhere")

    formset = locations(surface, page | {"locations-0-id": str(stranger.pk)})

    told(formset)
    assert stranger not in [form.instance for form in formset.forms]
    assert {form.instance.label for form in formset.initial_forms} == {"A", "B"}


def test_a_stored_row_whose_value_changed_is_told_by_its_own_form(two):
    surface, (first, _), page = two
    Location.objects.filter(pk=first.pk).update(description="by the old oak")

    formset = locations(surface, page)

    assert not formset.is_valid()
    assert "by the old oak" in str(formset.forms[0].errors)
    assert not formset.forms[1].errors


def test_a_tampered_count_of_rows_brings_the_stored_ones_back_unchanged(two):
    surface, rows, page = two

    formset = locations(surface, page | {"locations-TOTAL_FORMS": str(MOST_ROWS + 1)})

    assert not formset.is_valid()
    assert {form.instance.pk for form in formset.initial_forms} == {row.pk for row in rows}
    assert Location.objects.filter(surface=surface).count() == 2


# ---- What is filled, what goes -------------------------------------------------------------------


def test_a_blank_spare_row_is_skipped_and_a_filled_one_kept(two):
    surface, _, page = two
    formset = locations(surface, with_row(with_row(page, label="", zone="interior"), label="C", zone="edge"))

    assert formset.is_valid(), formset.errors
    assert [form.cleaned_data["label"] for form in kept_forms(formset)] == ["A", "B", "C"]


def test_a_row_marked_for_removal_is_given_and_not_kept(two):
    surface, (first, _), page = two

    formset = locations(surface, page | {"locations-0-DELETE": "on"})

    assert formset.is_valid()
    assert removed_rows(formset) == [first]
    assert [form.instance.label for form in kept_forms(formset)] == ["B"]


def test_the_box_that_removes_says_what_goes(two):
    surface, _, _ = two

    assert {form.fields["DELETE"].label for form in locations(surface).initial_forms} == {REMOVE}


def test_suggested_layers_count_as_filled_though_nobody_touched_them(firm):
    formset = layer_formset(firm.surface, "si")

    suggested = [form for form in formset.forms if form.prefilled]
    assert suggested
    assert all(is_filled(form) for form in suggested)


def test_a_stored_row_counts_as_filled(firm):
    LayerFactory(surface=firm.surface)

    (form,) = layer_formset(firm.surface, "si").initial_forms

    assert is_filled(form)


def test_a_refusal_of_a_service_stands_above_the_rows_which_keep_what_was_typed(two):
    surface, _, page = two
    formset = locations(surface, page | {"locations-0-label": "A1"})
    formset.is_valid()

    add_refusal_to_rows(formset, ValidationError(["A1 lies outside.", "B too."]))

    assert list(formset.non_form_errors()) == ["A1 lies outside.", "B too."]
    assert formset.forms[0]["label"].value() == "A1"


# ---- Layers --------------------------------------------------------------------------------------


def layers(surface, *rows, units="si"):
    return layer_formset(surface, units, rows_to_send("layers", [], rows))


def layer(at, kind="base", **typed):
    values = {"place": str(at), "kind": kind, "thickness_mm": "100", "porosity": "0.4"}
    return {key: value for key, value in (values | typed).items() if value}


def test_layers_are_ordered_by_their_places_and_those_without_one_lie_at_the_bottom(firm):
    formset = layers(
        firm.surface,
        layer("", material="last"),
        layer(2, material="second"),
        layer(2.5, material="between"),
        layer(1, material="top"),
    )

    assert formset.is_valid(), formset.errors
    names = [form.cleaned_data["material"] for form in formset.from_the_top()]
    assert names == ["top", "second", "between", "last"]


def test_the_subgrade_lies_below_all_others(firm):
    below = layer(1, kind="subgrade", thickness_mm="", porosity="")

    assert "The subgrade must be the last layer" in told(layers(firm.surface, below, layer(2)))
    assert layers(firm.surface, layer(1), below | {"place": "2"}).is_valid()


@pytest.mark.parametrize(
    ("kind", "typed", "field", "words"),
    [
        ("base", {"thickness_mm": ""}, "thickness_mm", "This layer needs a thickness."),
        ("base", {"thickness_mm": "0"}, "thickness_mm", ""),
        ("geotextile", {"thickness_mm": ""}, "porosity", "stores no water. Leave the porosity empty."),
        ("base", {"porosity": "1.2"}, "porosity", ""),
        ("base", {"place": "-1"}, "place", ""),
    ],
)
def test_a_layer_that_cannot_be_is_told_beside_its_field(firm, kind, typed, field, words):
    formset = layers(firm.surface, layer(1, kind=kind, **typed))

    assert not formset.is_valid()
    assert words in " ".join(formset.forms[0].errors[field])


def test_a_thickness_in_inches_is_stored_in_millimetres(firm):
    formset = layers(firm.surface, layer(1, thickness_mm="4 1/2"), units="us")

    assert formset.is_valid(), formset.errors
    assert formset.forms[0].cleaned_data["thickness_mm"] == pytest.approx(114.3)


def test_stored_layers_that_nobody_touched_are_not_written_anew_in_other_units(firm):
    stored = LayerFactory(surface=firm.surface, thickness_mm=101.0, stone_min_mm=4.75, stone_max_mm=12.5)

    formset = layer_formset(firm.surface, "us", page_of(layer_formset(firm.surface, "us")))

    assert formset.is_valid(), formset.errors
    (form,) = kept_forms(formset)
    row = form.save(commit=False)
    assert (row.thickness_mm, row.stone_min_mm, row.stone_max_mm) == (101.0, 4.75, 12.5)
    assert Layer.objects.get(pk=stored.pk).thickness_mm == 101.0


def test_lists_that_a_browser_sends_are_read_like_single_values(two):
    surface, _, page = two
    listed = {name: value[0] for name, value in lists_of(page).items()}

    assert locations(surface, listed).is_valid()
