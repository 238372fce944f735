"""All open checks of one stage on one page: half filled in is fine, each refused beside its own check."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.errors import NotAllowedNowError
from core.forms.parts import DayInput
from qa.forms.construction import EntryForm
from qa.models import CheckEntry
from qa.selectors.construction import CheckState, StageState
from qa.services.construction import Given

MOST_READINGS = 6  # of one check on one page; the next page takes those that are still missing
DAY = "done_on"
NOTHING_GIVEN = gettext_noop("Nothing is filled in yet. Give at least one finding.")
ANSWERS = (
    ("yes", _lazy("Yes")),
    ("no", _lazy("No")),
    ("", _lazy("Not yet")),
)  # a press by mistake can be taken back
READING_TOO = gettext_noop("Give the finding too, or empty what stands beside it.")


class RowForm(EntryForm):
    """One finding among those of its stage; the day is asked once for all of them."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, use_required_attribute=False, **kwargs)
        del self.fields[DAY]
        reading = self.fields["reading"]
        reading.required = False
        if isinstance(reading, forms.ChoiceField):
            reading.choices = ANSWERS
            self.initial["reading"] = ""
        if "where" in self.fields:
            self.fields["where"].required = False

    @property
    def is_given(self) -> bool:
        """Whether anything was entered for the check."""
        typed = (self.data.get(self.add_prefix(name), "") for name in ("reading", "where", "note"))
        return any(str(each).strip() for each in typed) or self.files_sent

    @property
    def is_extra_open(self) -> bool:
        """Whether what is seldom filled in holds something that must be seen."""
        return any(self[name].errors or self[name].value() for name in ("note", "photos", "keep_location"))

    @property
    def given(self) -> Given:
        """What may be stored once the row is valid."""
        return Given(self.instance, self.answer, self.sent)

    def belongs_to_sending(self, name: str) -> bool:
        """Its own fields and the day: what is entered for another check makes no other row of this one."""
        return name == DAY or name.startswith(f"{self.prefix}-")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.is_given and "reading" not in self.errors and cleaned.get("reading") in (None, ""):
            self.add_error("reading", _(READING_TOO))
        return cleaned


@dataclass(frozen=True, slots=True)
class CheckRows:
    """A check with the rows for the findings that it still misses."""

    state: CheckState
    rows: list[RowForm]

    @property
    def has_several(self) -> bool:
        """Whether each row needs its number to be told from the others."""
        return len(self.rows) > 1


class StageForm(forms.Form):
    """The day, and a row for each finding that the stage still misses."""

    done_on = forms.DateField(label=_lazy("Done on"), widget=DayInput())

    def __init__(
        self, data: Any, files: Any, *, stage: StageState, units: str, initial: Mapping[str, Any]
    ) -> None:
        super().__init__(data, files, initial=dict(initial))
        self.stage = stage
        self.units = units

    @cached_property
    def checks(self) -> list[CheckRows]:
        """The checks that take a finding; of a page that was sent, those that it held."""
        taking = (one for one in self.stage.checks if not one.automatic)
        found = [CheckRows(one, list(self._rows(one))) for one in taking]
        return [each for each in found if each.rows]

    def _rows(self, one: CheckState) -> Iterator[RowForm]:
        for number in range(MOST_READINGS):
            prefix = f"{one.row.pk}-{number}"
            if self._is_held(prefix) if self.is_bound else number < missing(one):
                yield RowForm(
                    self.data if self.is_bound else None,
                    self.files if self.is_bound else None,
                    instance=CheckEntry(construction_check=one.row),
                    check=one.row,
                    units=self.units,
                    prefix=prefix,
                )

    def _is_held(self, prefix: str) -> bool:
        return f"{prefix}-device_id" in self.data

    @property
    def parts(self) -> list[RowForm]:
        """The rows in which something was entered; sent together, each says for itself what is wrong in it."""
        return [row for each in self.checks for row in each.rows if row.is_given]

    @property
    def given(self) -> list[Given]:
        """What is to be stored once the page is valid."""
        return [row.given for row in self.parts]

    @property
    def refused_files(self) -> list[str]:
        """Photos that cannot be kept, each with why."""
        return [words for row in self.parts for words in row.refused_files]

    @property
    def refused_rows(self) -> list[RowForm]:
        """Rows with something to be corrected."""
        return [row for row in self.parts if row.errors] if self.is_bound else []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.parts:
            self.add_error(None, _(NOTHING_GIVEN))
        day = cleaned.get(DAY)
        for row in self.parts:
            if isinstance(day, date):
                row.instance.done_on = day
            row.full_clean()
        if any(row.errors for row in self.parts):
            self.add_error(None, _("Correct what is marked below. Nothing is stored yet."))
        return cleaned

    def refuse(self, refused: Mapping[int, forms.ValidationError | NotAllowedNowError]) -> None:
        """Put each refusal of the service beside the finding that it is about."""
        rows: Sequence[RowForm] = self.parts
        for number, error in refused.items():
            told = error if isinstance(error, forms.ValidationError) else forms.ValidationError(str(error))
            by_field = told.error_dict if hasattr(told, "error_dict") else {"reading": told.error_list}
            for name, errors in by_field.items():
                target: forms.BaseForm = self if name == DAY else rows[number]
                target.add_error(name if name in target.fields else "reading", errors)

    def ask_for_files_again(self) -> None:
        """Say beside each check whose photos the browser let go of, while something is to be corrected."""
        for row in self.parts:
            row.ask_for_files_again()


def missing(one: CheckState) -> int:
    """How many findings the check still takes before the work may go on past it."""
    return max(1, one.row.readings_asked - one.counted) if one.wants_more else 0
