"""Measured values: typed in the person's units, kept in SI, and never creeping."""

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import M2_PER_FT2, Quantity, UnitSystem
from qa.forms.measures import MeasureField
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from tests.factories import SiteFactory, SurfaceFactory


def measure(quantity=Quantity.AREA, system=UnitSystem.US, **ends):
    field = MeasureField(quantity=quantity, **ends)
    field.system = system
    return field


def posted(form):
    """What a browser sends for a form that was opened and left as it is."""
    data = {}
    for bound in form:
        value = bound.value()
        if value in (None, False) or bound.field.disabled:
            continue
        data[bound.html_name] = bound.field.prepare_value(value) if value is not True else "on"
    return data


@given(
    typed=st.decimals(min_value="0.001", max_value="9999999", places=3),
    quantity=st.sampled_from(sorted(Quantity)),
    system=st.sampled_from(sorted(UnitSystem)),
)
def test_a_typed_number_comes_back_as_typed(typed, quantity, system):
    field = measure(quantity, system)

    shown = field.prepare_value(field.clean(str(typed)))

    assert float(shown) == pytest.approx(float(typed), rel=1e-7)


@pytest.mark.parametrize("typed", ["abc", "nan", "inf", "-inf", "1e999", "12,5,3", "1 000", "٣٤x"])
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(forms.ValidationError):
        measure().clean(typed)


def test_a_bound_is_told_in_the_units_that_were_typed():
    field = measure(lowest=0.1)

    with pytest.raises(forms.ValidationError) as refusal:
        field.clean("0.5")

    assert refusal.value.messages == ["0.5 ft² is too small. Give 1.076 ft² or more."]


def test_the_ends_of_the_model_are_those_of_the_form():
    with pytest.raises(forms.ValidationError, match=r"1000000000 ft² is too large"):
        measure(highest=1e6).clean("1e9")


@pytest.mark.django_db
def test_a_surface_saved_again_and_again_does_not_creep():
    surface = SurfaceFactory(area_m2=1234.5 * M2_PER_FT2, joint_width_mm=10.0 / 3.0, limit_mm_h=254.0 / 7.0)
    before = {name: getattr(surface, name) for name in SurfaceForm.measures}

    for _ in range(3):
        data = posted(SurfaceForm(instance=surface, units="us"))
        form = SurfaceForm(data | {"rule": "", "agreed_limit_mm_h": "10"}, instance=surface, units="us")
        assert form.is_valid(), form.errors
        surface = form.save(commit=False)

    after = {name: getattr(surface, name) for name in SurfaceForm.measures}
    assert after | {"agreed_limit_mm_h": None} == before | {"agreed_limit_mm_h": None}


@pytest.mark.django_db
def test_an_area_typed_in_square_feet_is_kept_in_square_metres():
    surface = SurfaceFactory()
    data = posted(SurfaceForm(instance=surface, units="us")) | {"area_m2": "5000", "agreed_limit_mm_h": "10"}

    form = SurfaceForm(data, instance=surface, units="us")

    assert form.is_valid(), form.errors
    assert form.save(commit=False).area_m2 == pytest.approx(5000 * M2_PER_FT2, rel=1e-15)


@pytest.mark.django_db
def test_only_owners_of_the_firm_can_be_chosen():
    mine, other = SiteFactory(), SiteFactory()
    data = posted(SiteForm(instance=mine)) | {"owner": str(other.owner_id)}

    form = SiteForm(data, instance=mine)

    assert "owner" in form.errors
