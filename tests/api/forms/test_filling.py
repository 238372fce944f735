"""A body as a form takes it, and what a form refuses as places in the body."""

from datetime import UTC, date, datetime, time

import pytest
from django import forms
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from api.forms.filling import Filled, filled, texts_of, wrongs_in, wrongs_of
from core.calc.paving import SurfaceType, Traffic


class SpotForm(forms.Form):
    depth = forms.FloatField(min_value=1)
    seen = forms.BooleanField(required=False)
    on = forms.DateField(required=False)

    def clean(self):
        if self.cleaned_data.get("seen") and "depth" in self.cleaned_data:
            raise ValidationError("Both cannot be.")
        return self.cleaned_data


@pytest.mark.parametrize(
    ("value", "texts"),
    [
        (None, [""]),
        (True, ["on"]),
        (3, ["3"]),
        (2.5, ["2.5"]),
        ("a b", ["a b"]),
        (date(2026, 6, 1), ["2026-06-01"]),
        (time(7, 30), ["07:30:00"]),
        (datetime(2026, 6, 1, 7, 30, tzinfo=UTC), ["2026-06-01T07:30:00+00:00"]),
        ([1, 2], ["1", "2"]),
        ([], []),
        (SurfaceType.PICP, ["picp"]),
        (Traffic.CARS, ["1"]),
    ],
)
def test_values_are_sent_as_a_browser_would(value, texts):
    assert texts_of(value) == texts


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_no_digit_of_a_number_is_lost(number):
    (text,) = texts_of(number)

    assert forms.FloatField().clean(text) == number


def test_a_tick_that_is_not_set_is_left_out():
    assert "seen" not in filled({"seen": False, "depth": 2.0}).data


def test_what_a_form_refuses_stands_at_its_place_with_what_stood_there():
    made = Filled()
    made.put("depth", 0.5, "readings", "depth")
    made.put("on", "soon")

    found = wrongs_of(SpotForm(made.data), made)

    assert {(one.pointer, one.value) for one in found} == {("#/readings/depth", "0.5"), ("#/on", "soon")}


def test_what_is_wrong_with_the_whole_stands_at_the_whole():
    made = filled({"depth": 2.0, "seen": True})

    (wrong,) = wrongs_of(SpotForm(made.data), made)

    assert (wrong.pointer, wrong.detail, wrong.value) == ("#", "Both cannot be.", None)


@pytest.mark.parametrize(
    ("error", "pointers"),
    [
        (ValidationError({"depth": ["Too deep.", "Too odd."]}), ["#/depth", "#/depth"]),
        (ValidationError("No."), ["#"]),
        (ValidationError(["No.", "Never."]), ["#", "#"]),
    ],
)
def test_so_does_what_a_service_refuses(error, pointers):
    assert [one.pointer for one in wrongs_in(error, filled({"depth": 3.0}))] == pointers


def test_numbers_in_a_message_are_filled_in():
    error = ValidationError({"depth": ValidationError("%(value)s is too deep.", params={"value": 3})})

    assert wrongs_in(error, filled({}))[0].detail == "3 is too deep."
