"""Reading rows of a formset that were filled in, and those marked for removal."""

from typing import Any

from django.core.exceptions import ValidationError
from django.forms import BaseInlineFormSet, ModelForm

MOST_ROWS = 200  # far more than any surface has; a request that claims more is not built up row by row
REMOVE = "Remove this row"

Rows = BaseInlineFormSet[Any, Any, ModelForm[Any]]


def kept_forms(formset: Rows) -> list[ModelForm[Any]]:
    """Filled rows in the order shown; blank spare rows are skipped."""
    return [form for form in formset.forms if is_filled(form) and not form.cleaned_data.get("DELETE")]


def removed_rows(formset: Rows) -> list[Any]:
    """Stored rows that the person marked for removal."""
    return [form.instance for form in formset.initial_forms if form.cleaned_data.get("DELETE")]


class RemovableRows(Rows):
    """Rows that a person may mark for removal, in words that say what goes."""

    def add_fields(self, form: Any, index: int | None) -> None:
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = REMOVE


def add_refusal_to_rows(formset: Rows, error: ValidationError) -> None:
    """Put a service's refusal above the rows, which keep what was typed."""
    formset._non_form_errors = formset.error_class(error.messages, error_class="nonform")  # type: ignore[attr-defined]


def is_filled(form: ModelForm[Any]) -> bool:
    """Whether the row is a stored one, or was given anything."""
    if form.instance.pk and not form.instance._state.adding:
        return True
    return form.has_changed() or getattr(form, "prefilled", False)
