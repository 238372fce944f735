"""Sheets as they are sent, and what a person says that their columns hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.files.base import File
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import counted, fixed
from core.forms.once import OnceForm, sending_id
from exchange.calc.columns import MOST_COLUMNS, Column
from exchange.calc.headers import fits
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.payloads import Matching, SheetHead, SheetHeads, SheetMatch
from exchange.calc.reading import MOST_BYTES, MOST_ROWS
from exchange.calc.unit_words import split_unit
from exchange.models import DataImport
from exchange.services.files import MOST_FILES

LEFT_OUT = gettext_noop("Leave this out")
TOO_MANY = gettext_noop("%(count)d files at once; at most %(most)d. Send the others after these.")
TWICE = gettext_noop("Two columns are “%(label)s”. Leave one of them out.")
OTHER_UNIT = gettext_noop(
    "“%(header)s” says the unit %(unit)s, which is none of “%(label)s”. Choose another, or rename the column."
)


def _about() -> str:
    return _(
        "Spreadsheets (.xlsx, .xls, .ods) or .csv, at most {files} files of {size} MB, with up to {rows} rows and "
        "{columns} columns a sheet."
    ).format(
        files=MOST_FILES,
        size=MOST_BYTES // 1024**2,
        rows=fixed(MOST_ROWS, 0, parted=True),
        columns=MOST_COLUMNS,
    )


class SeveralSheets(forms.ClearableFileInput):
    allow_multiple_selected = True


class SheetFilesField(forms.FileField):
    """One spreadsheet or several. `clean` is called with a list."""

    widget = SeveralSheets(attrs={"accept": ".xlsx,.xls,.ods,.csv"})

    def clean(self, data: Any, initial: Any = None) -> list[File[bytes]]:
        sent = [super(SheetFilesField, self).clean(one) for one in (data or [])]
        if not sent:
            raise forms.ValidationError(_("Choose a file."), code="required")
        if len(sent) > MOST_FILES:
            raise forms.ValidationError(_(TOO_MANY), params={"count": len(sent), "most": MOST_FILES})
        return sent


class ImportForm(OnceForm[DataImport]):
    """Files, and how they are written: asked once for all of them."""

    sheets = SheetFilesField(
        label=_lazy("Spreadsheets"),
        help_text=lazy(_about, str)(),
        error_messages={"empty": _lazy("The file is empty.")},
    )
    field_order = ("sheets", "units", "days", "decimals")

    class Meta:
        model = DataImport
        fields = ("units", "days", "decimals")
        widgets = dict.fromkeys(fields, forms.RadioSelect)

    def _post_clean(self) -> None:
        super()._post_clean()
        self.instance.device_id = sending_id(self)


@dataclass(frozen=True, slots=True)
class SheetPart:
    """What a page shows of one sheet: its fields, and by column the header, what stands below it, and the field."""

    head: SheetHead
    kind: forms.BoundField
    columns: Sequence[tuple[str, str, forms.BoundField]]
    matched: int

    @property
    def size(self) -> str:
        """How many rows it has, and how many of its columns are matched: "3 rows; 2 of 5 columns matched"."""
        count = len(self.head.headers)
        columns = ngettext(
            "{matched} of {count} column matched", "{matched} of {count} columns matched", count
        )
        return f"{counted(self.head.rows, 'row')}; {columns.format(matched=self.matched, count=count)}"


class MatchForm(forms.Form):
    """What each sheet holds, and each of its columns."""

    def __init__(self, *args: Any, heads: SheetHeads, matching: Matching, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.heads, self.matching = heads, matching
        for s, (head, match) in enumerate(zip(heads.sheets, matching.sheets, strict=True)):
            self.fields[f"sheet{s}"] = forms.ChoiceField(
                label=_("Its rows are"),
                required=False,
                choices=[("", _(LEFT_OUT)), *SheetKind.choices()],
                initial=match.kind,
            )
            kind = self._kind_of(s, match.kind)
            offered = _columns_of(kind)
            for c, header in enumerate(head.headers):
                self.fields[f"sheet{s}_{c}"] = forms.ChoiceField(
                    label=header or _nameless(c),
                    required=False,
                    choices=offered,
                    initial=match.columns[c] if kind else "",
                    disabled=not kind,  # whatever its columns were before, a sheet that is left out asks for none
                )

    def _kind_of(self, place: int, suggested: str) -> str:
        """The kind whose columns are offered: what was sent, else what is suggested."""
        sent = self.data.get(self.add_prefix(f"sheet{place}"), suggested) if self.is_bound else suggested
        return sent if sent in SheetKind.values else ""

    @property
    def parts(self) -> list[SheetPart]:
        """The form, sheet by sheet."""
        return [self._part(place, head) for place, head in enumerate(self.heads.sheets)]

    def _part(self, place: int, head: SheetHead) -> SheetPart:
        columns = [
            (header or _nameless(c), _below(head, c), self[f"sheet{place}_{c}"])
            for c, header in enumerate(head.headers)
        ]
        kind = self._kind_of(place, self.matching.sheets[place].kind)
        matched = sum(1 for *_header, field in columns if field.value())
        return SheetPart(head, self[f"sheet{place}"], columns if kind else (), matched)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for s, head in enumerate(self.heads.sheets):
            kind = cleaned.get(f"sheet{s}")
            if kind:
                self._check_columns(SheetKind(kind), s, head, cleaned)
        return cleaned

    def _check_columns(self, kind: SheetKind, s: int, head: SheetHead, cleaned: dict[str, Any]) -> None:
        taken: set[str] = set()
        for c, header in enumerate(head.headers):
            name, key = f"sheet{s}_{c}", cleaned.get(f"sheet{s}_{c}", "")
            if not key:
                continue
            label, unit = KINDS[kind].by_key[key].said, split_unit(header)[1]
            if key in taken:
                self.add_error(name, forms.ValidationError(_(TWICE), params={"label": label}))
            elif unit and KINDS[kind].by_key[key].units[0] and not fits(kind, key, unit):
                params = {"header": header, "unit": unit.said, "label": label}
                self.add_error(name, forms.ValidationError(_(OTHER_UNIT), params=params))
            taken.add(key)

    def sent_kinds(self) -> list[SheetMatch]:
        """What was sent of each sheet, its columns only where they are of the kind that was sent."""
        return [self._sent(s, head) for s, head in enumerate(self.heads.sheets)]

    def _sent(self, s: int, head: SheetHead) -> SheetMatch:
        kind = self._kind_of(s, "")
        columns = [self.data.get(self.add_prefix(f"sheet{s}_{c}"), "") for c in range(len(head.headers))]
        known = KINDS[SheetKind(kind)].by_key.keys() | {""} if kind else {""}
        if kind != self.matching.sheets[s].kind or not set(columns) <= known:
            columns = [] if kind else [""] * len(columns)
        return SheetMatch(kind, tuple(columns))

    def chosen(self) -> Matching:
        """What was said, once the form is valid."""
        return Matching(tuple(self._chosen(s, head) for s, head in enumerate(self.heads.sheets)))

    def _chosen(self, s: int, head: SheetHead) -> SheetMatch:
        kind = self.cleaned_data[f"sheet{s}"]
        columns = (self.cleaned_data[f"sheet{s}_{c}"] if kind else "" for c in range(len(head.headers)))
        return SheetMatch(kind, tuple(columns))


def _columns_of(kind: str) -> list[tuple[str, str]]:
    if not kind:
        return [("", _(LEFT_OUT))]
    return [("", _(LEFT_OUT)), *((column.key, _offered(column)) for column in KINDS[SheetKind(kind)].columns)]


def _offered(column: Column) -> str:
    return _("{column} (needed)").format(column=column.said) if column.required else column.said


def _nameless(place: int) -> str:
    """A column without a header, by its number."""
    return _("Column {number}").format(number=place + 1)


def _below(head: SheetHead, place: int) -> str:
    """The first things that stand in a column."""
    values = [line[place] for line in head.samples if place < len(line) and line[place]]
    return ", ".join(values[:2])
