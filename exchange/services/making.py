"""One import as it is worked out: what is new, what is there, what is wrong, what is worth knowing."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from math import isclose
from types import MappingProxyType
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.roles import Role
from accounts.models import User
from core.calc.marks import marked
from core.errors import NotAllowedNowError
from exchange.calc.cells import OFF
from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import ImportReport, KindCount
from exchange.calc.problems import MOST_KEPT, Remark
from exchange.calc.rows import MISSING, SheetRow
from exchange.calc.ways import Ways
from exchange.services.known import Known
from qa.forms.measures import MeasureField

F = TypeVar("F", bound=forms.BaseForm)
Refusal = ValidationError | NotAllowedNowError
SAME = 1e-6  # two numbers that differ by less were typed as one
CORRECT = gettext_noop("Correct the sheet and send it again.")
COLUMN_OF = MappingProxyType({"spot": "location", "place": "position"})  # by what a form calls its field
CHANGED_SINCE = gettext_noop("the {record} was corrected or set aside since it was sent; it stays as it is")


@dataclass(slots=True)
class New:
    """A row that is to be stored, and where in the sheets it stands."""

    row: SheetRow
    made: Any


@dataclass(slots=True)
class Making:
    """What an import gives so far. new: by kind, in the order of the sheets."""

    known: Known
    by: User
    role: Role
    ways: Ways
    problems: list[Remark] = field(default_factory=list)
    notices: list[Remark] = field(default_factory=list)
    new: dict[SheetKind, list[New]] = field(default_factory=dict)
    there: dict[SheetKind, int] = field(default_factory=dict)
    differ: dict[SheetKind, int] = field(default_factory=dict)
    round_form: Any = None

    def add(self, kind: SheetKind, row: SheetRow, made: Any) -> None:
        """Have a row stored."""
        self.new.setdefault(kind, []).append(New(row, made))

    def is_there(self, kind: SheetKind, row: SheetRow, differences: Iterable[Remark] = ()) -> None:
        """Count a row that is stored already, and tell where the sheet says something else."""
        found = list(differences)
        self.there[kind] = self.there.get(kind, 0) + 1
        self.differ[kind] = self.differ.get(kind, 0) + bool(found)
        self.notices += found

    def refuse(self, row: SheetRow, error: Refusal) -> None:
        """Tell why a row cannot be stored, beside the columns that it is about."""
        self.problems += remarks_of(row, error)

    def report(self, places: Iterable[tuple[str, str]] = ()) -> ImportReport:
        """What is kept of it."""
        counts = tuple(
            KindCount(
                kind.value, len(self.new.get(kind, ())), self.there.get(kind, 0), self.differ.get(kind, 0)
            )
            for kind in SheetKind
            if kind in self.new or kind in self.there
        )
        return ImportReport(
            tuple(self.problems[:MOST_KEPT]),
            len(self.problems),
            tuple(self.notices[:MOST_KEPT]),
            len(self.notices),
            counts,
            tuple(places),
        )


def remarks_of(row: SheetRow, error: Refusal) -> list[Remark]:
    """A refusal as what is wrong and what to do, cell by cell."""
    if isinstance(error, NotAllowedNowError):
        return [row.remark("", *_parted(str(error)))]
    by_field = error.message_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.messages}
    return [
        row.remark("" if name == NON_FIELD_ERRORS else COLUMN_OF.get(name, name), *_parted(message))
        for name, messages in by_field.items()
        for message in messages
    ]


def _parted(message: str) -> tuple[str, str]:
    """What is wrong, and what to do about it: our messages say the one first, and the other after a full stop."""
    what, stop, remedy = message.partition(". ")
    return (what, remedy) if stop else (message.rstrip("."), _(CORRECT))


@contextmanager
def rules_asked_later(row: Model) -> Iterator[None]:
    """Let a form look at its own fields alone: of many rows, the service asks the rules of the model at once."""
    row.full_clean = _nothing  # type: ignore[method-assign]
    try:
        yield
    finally:
        del row.full_clean


def _nothing(*args: object, **kwargs: object) -> None:
    """In place of several queries a row."""


def typed(form: forms.BaseForm, row: SheetRow, **more: str) -> dict[str, Any]:
    """What a person would have sent: the sheet's values, and for the rest what the form starts with."""
    sent: dict[str, Any] = {**starts_of(form), **row.values, **more}
    return {name: value for name, value in sent.items() if name in form.fields and value != OFF}


def filled(form: F, row: SheetRow) -> F:
    """A new form with what the row gives, as if it had been sent: making a second takes longer than using it."""
    form.data, form.is_bound = typed(form, row), True
    return form


def starts_of(form: forms.BaseForm) -> dict[str, Any]:
    """What a form starts with, as a browser would send it."""
    found = {}
    for name, form_field in form.fields.items():
        start = form.get_initial_for_field(form_field, name)
        given = start is not None and start is not False and start != ""
        if given and not isinstance(form_field.widget, forms.HiddenInput):
            found[name] = "on" if start is True else _as_typed(form_field, start)
    return found


def _as_typed(form_field: forms.Field, start: Any) -> Any:
    if isinstance(form_field, MeasureField):
        return form_field.prepare_value(start)
    if isinstance(form_field, forms.MultipleChoiceField):
        return [str(one) for one in form_field.prepare_value(start)]
    return start.isoformat() if isinstance(start, date) else str(getattr(start, "value", start))


def take_errors(making: Making, row: SheetRow, form: forms.BaseForm, *, fields_alone: bool = False) -> bool:
    """Tell what a form refuses; returns whether it refused nothing. fields_alone: what is about one field alone."""
    found = [
        (name, error)
        for name, errors in form.errors.as_data().items()
        for error in errors
        if not (fields_alone and name == NON_FIELD_ERRORS)
    ]
    for name, error in found:
        if row.problems and not _stands_alone(row, name):
            continue
        if error.code == "required" and name != NON_FIELD_ERRORS:
            _tell_missing(making, row, name)
            continue
        making.refuse(row, error if name == NON_FIELD_ERRORS else ValidationError({name: error}))
    return not found


def _stands_alone(row: SheetRow, name: str) -> bool:
    """Whether a refusal is no consequence of a cell that could not be read, which is told of already."""
    key = COLUMN_OF.get(name, name)
    return bool(row.raw.get(key)) and not row.is_told(key)


def _tell_missing(making: Making, row: SheetRow, name: str) -> None:
    """A cell that cannot be read, or is told to be missing, is told of once."""
    if all(problem.column != row.sheet.header_of(name) for problem in row.problems):
        column = row.sheet.what.by_key.get(name)
        said = _("{column} is missing").format(column=column.said if column else name)
        making.problems.append(row.remark(name, said, _(MISSING)))


def differences(row: SheetRow, cleaned: Mapping[str, Any], stored: Model) -> list[Remark]:
    """Where the sheet says something else than what is stored."""
    return [
        row.remark(
            name,
            _("{value} is stored").format(value=_said(stored, name)),
            _("Nothing is overwritten: change it on its page if the sheet is right."),
        )
        for name in row.values
        if name in cleaned and hasattr(stored, name) and not same(cleaned[name], getattr(stored, name))
    ]


def _said(stored: Model, name: str) -> str:
    display = getattr(stored, f"get_{name}_display", None)
    value = display() if display else getattr(stored, name)
    if isinstance(value, float):
        return marked(f"{value:.6g}")
    return _("“{text}”").format(text=value) if value not in (None, "") else _("nothing")


def same(new: Any, old: Any) -> bool:
    """Whether two values are one, however they were typed."""
    if isinstance(new, float | int) and isinstance(old, float | int) and not isinstance(new, bool):
        return isclose(new, old, rel_tol=SAME, abs_tol=SAME)
    if isinstance(new, Decimal) and isinstance(old, Decimal):
        return new == old
    return str(new if new is not None else "").strip() == str(old if old is not None else "").strip()
