"""What forms share: inputs, groups of fields, the form that asks for a reason."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.forms import BaseForm, BoundField, Field
from django.utils.translation import gettext_lazy as _lazy

# For a number typed on a telephone: any digits, and the keys for them.
DECIMAL = {"step": "any", "inputmode": "decimal"}


class TimeInput(forms.TimeInput):
    """A time of day to the minute, picked or typed."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class DayInput(forms.DateInput):
    """A calendar date, picked or typed."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class KeepAnyway(forms.BooleanField):
    """A tick that lets a form through as it is, once it was said beside it what speaks against that."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False)


class ReasonForm(forms.Form):
    """Why a record is corrected, set aside or cancelled."""

    reason = forms.CharField(
        label=_lazy("Reason"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_lazy("It stays readable beside the record."),
    )


def show_unit(field: Field, unit: str) -> None:
    """Have the unit stand beside the input."""
    field.unit = unit  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Group:
    """Fields shown together under a title. folded: shut until opened, for what most people leave as it is."""

    title: str
    fields: Sequence[BoundField]
    hint: str = ""
    grid: bool = True
    folded: bool = False

    @property
    def is_shut(self) -> bool:
        """Whether it may be shut: nothing in it was filled in, and nothing was refused."""
        return self.folded and not any(field.errors or is_given(field) for field in self.fields)


def is_given(field: BoundField) -> bool:
    """Whether a field holds anything that nobody should pass unseen.

    Of a stored row what was ever given; of a new one what was typed, or what it begins with beyond its model's default,
    such as what was taken over from another row.
    """
    form: Any = field.form
    if form.is_bound and field.name in form.changed_data:
        return True
    if getattr(form, "instance", None) is None:
        return False
    value = field.data if form.is_bound and form.instance._state.adding else field.value()
    if value is None or value is False or value in ("", []):
        return False
    if form.instance._state.adding:
        return field.field.has_changed(_default_of(field), value)
    return str(value) != str(field.field.initial)


def _default_of(field: BoundField) -> Any:
    """What a new row has where nobody says anything: by its model, else by the form's field."""
    form: Any = field.form
    columns = {column.name: column for column in form._meta.model._meta.concrete_fields}
    column = columns.get(field.name)
    return field.field.initial if column is None else column.get_default()


def bound_fields(form: BaseForm, *names: str) -> list[BoundField]:
    """The form's fields in an order; names that the form does not have are left out."""
    return [form[name] for name in names if name in form.fields]


def folded_up(groups: Sequence[Group], *titles: str) -> list[Group]:
    """The groups, those of these titles folded."""
    return [replace(group, folded=group.title in titles) for group in groups]


def grouped(form: BaseForm, *parts: tuple[str, Sequence[str]]) -> list[Group]:
    """Groups of the form's fields; names that the form does not have are left out."""
    return [Group(title, bound_fields(form, *names)) for title, names in parts]
