"""Reading rows of a formset that were filled in, and those marked for removal."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.forms import BaseInlineFormSet, ModelForm
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.forms.fresh import SAVE_AGAIN

MOST_ROWS = 200  # far more than any surface has; a request that claims more is not built up row by row
REMOVE = _lazy("Remove this row")

Rows = BaseInlineFormSet[Any, Any, ModelForm[Any]]


def rows_sent(data: Any, prefix: str) -> list[dict[str, Any]]:
    """What was sent, row by row: {name: value}; nothing where the count of rows is missing or beyond all use."""
    total = str(data.get(f"{prefix}-TOTAL_FORMS", ""))
    if not total.isdecimal() or int(total) > MOST_ROWS:
        return []
    rows: list[dict[str, Any]] = [{} for _ in range(int(total))]
    for key, value in data.items():
        head, _sign, name = str(key).removeprefix(f"{prefix}-").partition("-")
        if str(key).startswith(f"{prefix}-") and head.isdecimal() and int(head) < len(rows):
            rows[int(head)][name] = value
    return rows


def rows_to_send(
    prefix: str, known: Sequence[dict[str, Any]], new: Sequence[dict[str, Any]]
) -> dict[str, Any]:
    """The same as a browser sends it, the stored rows first."""
    rows = [*known, *new]
    counts = {f"{prefix}-TOTAL_FORMS": str(len(rows)), f"{prefix}-INITIAL_FORMS": str(len(known))}
    return counts | {
        f"{prefix}-{i}-{name}": value for i, row in enumerate(rows) for name, value in row.items()
    }


def kept_forms(formset: Rows) -> list[ModelForm[Any]]:
    """Filled rows in the order shown; blank spare rows are skipped."""
    return [form for form in formset.forms if is_filled(form) and not form.cleaned_data.get("DELETE")]


def removed_rows(formset: Rows) -> list[Any]:
    """Stored rows that the person marked for removal."""
    return [form.instance for form in formset.initial_forms if form.cleaned_data.get("DELETE")]


class RemovableRows(Rows):
    """Rows that a person may mark for removal, in words that say what goes.

    A row that somebody else removed or added since the page was opened is told before anything is stored: what was
    typed of a removed one comes back as a new row, and an added one stands among the others.
    """

    in_order = False  # whether the rows stand in an order that people give them

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.moved: list[str] = []
        if self.is_bound:
            self._catch_up()

    def _catch_up(self) -> None:
        """Bring what was sent up to the rows that are stored now."""
        stored = {str(row.pk): row for row in self.get_queryset()}
        order = list(stored)
        sent = rows_sent(self.data, str(self.prefix))
        known, new = [], []
        for row in sent:
            key = row.get("id", "")
            if not key:
                new.append(row)
            elif key in stored:
                known.append(row)
                del stored[key]
            elif not row.get("DELETE"):  # who marks for removal what is gone has what they want
                new.append({name: value for name, value in row.items() if name not in ("id", "seen")})
                self.moved.append(_("a row was removed; what you have of it stands below as a new one"))
        if self.in_order and (shown := [row["id"] for row in known]) != sorted(shown, key=order.index):
            known.sort(key=lambda row: order.index(row["id"]))
            self.moved.append(_("the order was changed"))
        known += [self._as_shown(row) for row in stored.values()]
        self.moved += [_("{row} was added").format(row=row) for row in stored.values()]
        if self.moved or len(known) + len(new) != len(sent):
            self.data = rows_to_send(str(self.prefix), known, new)

    def _as_shown(self, row: Any) -> dict[str, Any]:
        """What a browser would send of a stored row that nobody touched."""
        form = self.form(instance=row, **self.get_form_kwargs(None))
        values = {name: form[name].value() for name in form.fields}
        return {"id": str(row.pk)} | {
            name: value for name, value in values.items() if value not in (None, False)
        }

    def clean(self) -> None:
        super().clean()
        if self.moved:
            said = _("Changed since this page was opened: {said}.")
            raise ValidationError(" ".join((said.format(said="; ".join(self.moved)), _(SAVE_AGAIN))))

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
