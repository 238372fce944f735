"""Groups of fields that are shut until somebody needs them."""

import pytest
from django import forms

from accounts.models import Owner
from core.forms.parts import Group, bound_fields, folded_up, grouped, is_given
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


def test_what_a_new_row_starts_with_was_not_given_by_anybody():
    form = Form(initial={"phone": "0123"})

    assert not is_given(form["phone"])


def test_a_form_without_a_row_has_given_what_was_sent_alone():
    class Plain(forms.Form):
        word = forms.CharField(required=False)

    assert not is_given(Plain()["word"])
    assert is_given(Plain({"word": "x"})["word"])
