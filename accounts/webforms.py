"""What the pages with a form share: groups of fields, and handing a service's refusal back to the form."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms import BaseForm, BoundField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render


@dataclass(frozen=True, slots=True)
class Group:
    """Fields shown together under a title."""

    title: str
    fields: Sequence[BoundField]
    hint: str = ""
    grid: bool = True


def grouped(form: BaseForm, *parts: tuple[str, Sequence[str]]) -> list[Group]:
    """Groups of the form's fields; names that the form does not have are left out."""
    return [Group(title, [form[name] for name in names if name in form.fields]) for title, names in parts]


def add_refusal(form: BaseForm, error: ValidationError) -> None:
    """Put a service's refusal beside the fields it names, or above the form."""
    for name, errors in _by_field(error).items():
        target = name if name in form.fields else None
        for one in errors:
            form.add_error(target, one)


def _by_field(error: ValidationError) -> dict[str, list[Any]]:
    return error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.error_list}


def save_or_show(
    request: HttpRequest, form: BaseForm, save: Callable[[], Any], template: str, **context: Any
) -> HttpResponse:
    """Save a valid form and go where the saved row lives; else show the form with what was typed."""
    if form.is_valid():
        try:
            return redirect(save())
        except ValidationError as error:
            add_refusal(form, error)
    return render(request, template, {"form": form, **context})
