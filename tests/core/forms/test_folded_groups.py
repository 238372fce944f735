"""Groups of fields that are shut until somebody needs them."""

import pytest
from django import forms

from accounts.models import Owner
from core.forms.parts import Group, bound_fields, folded_up, grouped, is_given
from qa.models import Surface
from tests.factories import OwnerFactory

TITLES = ("Always", "Later")


class Form(forms.ModelForm):
    class Meta:
        model = Owner
        fields = ("name", "address", "phone")


def group_of(form, folded=True):
    return Group("Later", bound_fields(form, "address", "phone"), folded=folded)


def test_groups_of_the_named_titles_are_folded():
    groups = grouped(Form(), ("Always", ("name",)), ("Later", ("address", "phone")))

    assert [group.folded for group in folded_up(groups, "Later")] == [False, True]
    assert [group.title for group in folded_up(groups)] == list(TITLES)


def test_an_empty_one_is_shut_and_one_that_is_not_folded_never():
    assert group_of(Form()).is_shut
    assert not group_of(Form(), folded=False).is_shut


@pytest.mark.parametrize(("sent", "shut"), [({"name": "A"}, True), ({"name": "A", "phone": "1"}, False)])
def test_what_was_typed_is_shown(sent, shut):
    assert group_of(Form(sent)).is_shut is shut


@pytest.mark.django_db
@pytest.mark.parametrize(("phone", "shut"), [("", True), ("0123", False)])
def test_what_is_stored_is_shown(phone, shut):
    assert group_of(Form(instance=OwnerFactory(phone=phone))).is_shut is shut


def test_what_was_refused_is_shown():
    form = Form({"name": "A", "phone": "1" * 41})

    assert form.errors["phone"]
    assert not group_of(form).is_shut


@pytest.mark.parametrize("start", [{"initial": {"phone": "0123"}}, {"instance": Owner(phone="0123")}])
def test_what_a_new_row_begins_with_is_shown_also_once_it_was_refused(start):
    assert is_given(Form(**start)["phone"])
    assert not group_of(Form(**start)).is_shut

    refused = Form({"name": "", "phone": "0123"}, **start)

    assert refused.errors["name"]
    assert not group_of(refused).is_shut


def test_what_a_new_row_has_by_its_models_default_was_given_by_nobody():
    class SurfaceLike(forms.ModelForm):
        class Meta:
            model = Surface
            fields = ("clogging_share", "run_on_area_m2", "traffic", "trees", "joint_width_mm")

    form = SurfaceLike(instance=Surface())
    as_it_stands = {"clogging_share": "0.10", "run_on_area_m2": "0", "traffic": str(Surface().traffic)}

    assert not any(is_given(field) for field in form)
    assert not any(is_given(field) for field in SurfaceLike(as_it_stands, instance=Surface()))
    assert is_given(SurfaceLike(instance=Surface(clogging_share=0.2))["clogging_share"])


def test_a_form_without_a_row_has_given_what_was_sent_alone():
    class Plain(forms.Form):
        word = forms.CharField(required=False)

    assert not is_given(Plain()["word"])
    assert is_given(Plain({"word": "x"})["word"])
