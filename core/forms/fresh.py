"""Editing forms that notice what somebody else stored since the page was opened."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from hashlib import sha256
from typing import Any, ClassVar, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, QuerySet
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import day, moment

M = TypeVar("M", bound=Model)

GONE = gettext_noop(
    "%(row)s was removed since this page was opened: nothing is left to change. Go back to see what is there."
)
SAVE_AGAIN = gettext_noop(
    "Nothing is stored yet: save again to put your entries in their place, or reload the page to keep theirs."
)
_SHORT = 10  # signs of a mark: two different values meet by chance once in a million million


def marks_of(row: Model, columns: Sequence[str]) -> str:
    """A short mark for each value, so that a page can tell later which of them changed."""
    return ".".join(mark_of(_value(row, name)) for name in columns)


def mark_of(value: Any) -> str:
    """A short mark of a value, another for any other value."""
    return sha256(repr(value).encode()).hexdigest()[:_SHORT]


def _value(row: Model, name: str) -> Any:
    """A stored value without a query for the row behind a key; of many rows their keys."""
    if name in {field.name for field in row._meta.many_to_many}:
        return sorted(str(key) for key in getattr(row, name).values_list("pk", flat=True))
    field = next((field for field in row._meta.concrete_fields if field.name == name), None)
    return getattr(row, name) if field is None else field.value_from_object(row)


class Seeing(forms.BaseForm):
    """What forms of a stored row have in common: the page carries marks of what it showed, under the name `seen`."""

    row_name = "instance"  # of the attribute that holds the row
    stored_marks = ""  # of the row as it is now; empty for a form that makes a new one

    def columns(self) -> list[str]:
        """What the form may write: columns, or properties that stand for one."""
        raise NotImplementedError

    def field_of(self, column: str) -> str:
        """The name of the field that fills a column."""
        return column

    def full_clean(self) -> None:
        before = self.seen_row
        super().full_clean()
        getattr(self, "cleaned_data", {}).pop("seen", None)  # of the page, not of the row
        if self.is_bound and self.stored_marks and (changed := self._changed_since(self.stored_marks)):
            self.add_error(None, self._told(changed, before))

    @property
    def seen_row(self) -> Model:
        """The row whose marks the page carries."""
        row: Model = getattr(self, self.row_name)
        return row

    def hold(self) -> None:
        """Lock the row and look once more, inside a transaction. Raises ValidationError when it changed or went."""
        row = self.seen_row
        current = row._meta.model._base_manager.select_for_update().filter(pk=row.pk).first()
        if current is None:
            raise ValidationError(_(GONE), params={"row": row})
        now = marks_of(current, self.columns())
        if now != self.stored_marks and (changed := self._changed_since(now)):
            self.show(current, changed)
            raise ValidationError(self._told(changed, current))

    def show(self, row: Model, columns: Sequence[str]) -> None:
        """Take over from a row what these columns hold now, so that it can be said."""
        self.initial.update({self.field_of(name): getattr(row, name) for name in columns})

    def _changed_since(self, now: str) -> list[str]:
        """The columns that are no longer as the page showed them; from now on those of now count as shown."""
        name = self.add_prefix("seen")
        if name not in self.data:  # not from a page of ours
            return []
        shown, current = str(self.data.get(name, "")).split("."), now.split(".")
        if len(shown) != len(current):
            return []
        changed = [c for c, was, new in zip(self.columns(), shown, current, strict=True) if was != new]
        if changed:
            self.data = MultiValueDict({**lists_of(self.data), name: [now]})
        return changed

    def _told(self, changed: Sequence[str], row: Model) -> str:
        each = _("{label} is now {value}")
        said = "; ".join(each.format(label=self._label(name), value=self._now(name)) for name in changed)
        return f"{_changed(row, said)} {_(SAVE_AGAIN)}"

    def _label(self, name: str) -> str:
        of_class: Mapping[str, forms.Field] = getattr(
            self, "base_fields", {}
        )  # those too that this one leaves out
        field = {**of_class, **self.fields}.get(self.field_of(name))
        return str(field.label) if field and field.label else name.replace("_", " ").capitalize()

    def _now(self, name: str) -> str:
        """The stored value as the form would show it."""
        field = self.fields.get(self.field_of(name))
        if field is None:
            return _("another")
        value = self.initial.get(self.field_of(name))
        if isinstance(field, forms.BooleanField):
            return _("yes") if value else _("no")
        if isinstance(value, date):
            return day(value)
        shown = field.prepare_value(value)
        if isinstance(shown, QuerySet):
            shown = [one.pk for one in shown]
        named = {str(key): str(label) for key, label in getattr(field, "choices", ())}
        if isinstance(shown, list):
            return ", ".join(named.get(str(one), str(one)) for one in shown) or _("empty")
        return named.get(str(shown), str(shown)) if shown not in (None, "") else _("empty")


class FreshForm(Seeing, forms.ModelForm[M]):
    """A form that changes a stored row, and says so when the row is no longer as the page showed it.

    The page carries a mark of each column that the form writes. Where one differs from what is stored, nothing is
    written: the form comes back with what was typed, what changed, by whom and when, and asks. Sending it again is the
    answer. A form that makes a new row carries none.
    """

    also_writes: tuple[str, ...] = ()  # columns that the form fills by fields of another name

    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stored_marks = "" if self.instance._state.adding else marks_of(self.instance, self.columns())
        if self.stored_marks:
            self.initial["seen"] = self.stored_marks
        else:
            del self.fields["seen"]

    def columns(self) -> list[str]:
        """What the form may write: columns, or properties that stand for one."""
        named = (*(self._meta.fields or ()), *self.also_writes)
        return [name for name in named if hasattr(self._meta.model, name)]


class SeenForm(Seeing, forms.Form):
    """The same for a form that is not of a model."""

    row_name = "row"
    shown: ClassVar[Mapping[str, str]] = {}  # the columns it writes, with the field of each

    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, row: Model, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.row, self.stored_marks = row, marks_of(row, self.columns())
        self.initial["seen"] = self.stored_marks

    def columns(self) -> list[str]:
        """The columns of the row that it writes."""
        return list(self.shown)

    def field_of(self, column: str) -> str:
        """The name of the field that fills a column."""
        return self.shown[column]


def _changed(row: Model, said: str) -> str:
    """That a row was stored anew and what of it changed, by whom and when where that is kept."""
    history = getattr(row, "history", None)
    last = history.first() if history is not None else None
    if last is None:
        return _("Changed since this page was opened: {said}.").format(said=said)
    at = moment(last.history_date)
    if not last.history_user:
        return _("Changed since this page was opened at {at}: {said}.").format(at=at, said=said)
    by = last.history_user
    return _("Changed since this page was opened by {by} at {at}: {said}.").format(by=by, at=at, said=said)


def lists_of(data: Any) -> dict[str, list[Any]]:
    """What was sent, in a form that may be changed."""
    return (
        dict(data.lists())
        if isinstance(data, MultiValueDict)
        else {key: [value] for key, value in data.items()}
    )


@contextmanager
def held(form: forms.BaseForm) -> Iterator[None]:
    """Let nobody store between the look at the row and the saving of an editing form; nothing for other forms."""
    seen = _seen_in(form)
    if not seen:
        yield
        return
    with transaction.atomic():
        for each in seen:
            each.hold()
        yield


def _seen_in(form: forms.BaseForm) -> list[Seeing]:
    """The form and those it is made of, as far as each is of a stored row.

    In one order: else of two people each would wait for what the other has locked.
    """
    all_of_it = (form, *getattr(form, "parts", ()))
    seen = [each for each in all_of_it if isinstance(each, Seeing) and each.stored_marks and each.fields]
    return sorted(seen, key=lambda each: each.seen_row.pk)
