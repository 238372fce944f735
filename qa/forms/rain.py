"""Text and files to rain records."""

import io
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.errors import ImpossibleRecordError
from core.forms.once import OnceForm
from qa.calc.rain_record import RainTable, Reading, Stamp, Step, read_table
from qa.models import RainRecord

MOST_MB = 40
TOO_LARGE = gettext_noop(
    "The file has %(size)d MB; at most %(most)d are read at once. Send the record in parts."
)
NOT_TEXT = gettext_noop(
    "The file is not text in UTF-8. Save it as CSV in UTF-8 from the spreadsheet, then send it again."
)


class RainRecordForm(OnceForm[RainRecord]):
    class Meta:
        model = RainRecord
        fields = ("name", "place", "time_zone", "source")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        newest = self.instance.organisation.sites.order_by("-created_at").first()
        if self.instance._state.adding and newest:
            self.initial["time_zone"] = newest.time_zone


class RainTableForm(forms.Form):
    """A table of rain, read as a whole before anything is stored."""

    table = forms.FileField(
        label=_lazy("Table (CSV)"),
        help_text=_lazy("Columns named time and rain_mm (or rain_in), a row a step, in the order of time."),
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )
    step = forms.TypedChoiceField(
        label=_lazy("A row stands for"),
        choices=Step.choices,
        coerce=lambda value: Step(int(value)),
        initial=Step.HOUR,
    )
    stamp = forms.TypedChoiceField(
        label=_lazy("Its time names"),
        choices=Stamp.choices,
        coerce=Stamp,
        initial=Stamp.BEGIN,
        widget=forms.RadioSelect,
    )
    dry_left_out = forms.BooleanField(
        label=_lazy("Steps without rain are left out of the table"),
        required=False,
        help_text=_lazy("Ticked: what lies between rows was dry. Not ticked: nothing is known of it."),
    )

    def __init__(self, *args: Any, record: RainRecord, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.record = record
        self.found: RainTable | None = None

    def clean_table(self) -> Any:
        sent = self.cleaned_data["table"]
        if sent.size > MOST_MB * 1_000_000:
            params = {"size": round(sent.size / 1e6), "most": MOST_MB}
            raise ValidationError(_(TOO_LARGE), params=params)
        return sent

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            reading = Reading(
                cleaned["step"], cleaned["stamp"], self.record.time_zone, cleaned["dry_left_out"]
            )
            try:
                self.found = read_table(io.TextIOWrapper(cleaned["table"], "utf-8", newline=""), reading)
            except UnicodeDecodeError:
                self.add_error("table", _(NOT_TEXT))
            except ImpossibleRecordError as error:
                self.add_error("table", str(error))
        return cleaned
