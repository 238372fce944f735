"""What a person chooses to be told, and how."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.notices import NoticeKind, Way
from accounts.selectors.notices import Chosen


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """A line of the table: a kind, and its two boxes."""

    kind: NoticeKind
    in_app: BoundField
    by_mail: BoundField


class NoticeChoiceForm(forms.Form):
    """Two boxes for each kind that a person can get, and the hour of the daily mail."""

    mail_on = forms.BooleanField(
        label=_lazy("Send me a daily mail when there is something new"), required=False
    )
    mail_hour = forms.TypedChoiceField(
        label=_lazy("At"), choices=[(hour, f"{hour:02d}:00") for hour in range(24)], coerce=int
    )

    def __init__(self, data: Mapping[str, Any] | None, *, chosen: Chosen) -> None:
        super().__init__(data)
        self.kinds = list(chosen.ways)
        self.initial = {"mail_on": chosen.settings.mail_on, "mail_hour": chosen.settings.mail_hour}
        for kind, way in chosen.ways.items():
            self._add(f"{kind.value}-app", _("In the app: {kind}").format(kind=kind.label), way.in_app)
            self._add(f"{kind.value}-mail", _("By daily mail: {kind}").format(kind=kind.label), way.by_mail)

    def _add(self, name: str, label: str, value: bool) -> None:
        self.fields[name] = forms.BooleanField(label=label, required=False)
        self.initial[name] = value

    @property
    def rows(self) -> Iterator[ChoiceRow]:
        """The table, a line a kind."""
        for kind in self.kinds:
            yield ChoiceRow(kind, self[f"{kind.value}-app"], self[f"{kind.value}-mail"])

    @property
    def ways(self) -> dict[NoticeKind, Way]:
        """What was ticked; of a valid form."""
        given = self.cleaned_data
        return {kind: Way(given[f"{kind.value}-app"], given[f"{kind.value}-mail"]) for kind in self.kinds}
