"""Text to typed values for quotes."""

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.forms import inlineformset_factory
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy

from core.forms.fresh import FreshForm
from core.forms.once import sending_id
from core.forms.parts import DECIMAL, DayInput, show_unit
from planning.calc.vocabulary import Answer
from planning.forms.work import ChosenForm
from planning.models import QuoteLine, QuoteVersion
from qa.forms.rowsets import MOST_ROWS, RemovableRows
from qa.selectors.days import firm_today

USUAL_DAYS = timedelta(days=30)
SPARE_LINES = 2
NOTE_HELP = _lazy("It stands below the lines.")


class QuoteStartForm(ChosenForm):
    """Which of the chosen advice is quoted, and until when the quote holds."""

    valid_until = forms.DateField(label=_lazy("Valid until"), widget=DayInput())
    note = forms.CharField(
        label=_lazy("Note to the owner"),
        required=False,
        max_length=2000,
        help_text=NOTE_HELP,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in self.chosen[:1]:
            self.initial.setdefault("valid_until", firm_today(row.surface.organisation) + USUAL_DAYS)

    @property
    def once(self) -> UUID | None:
        """The same for the same sending."""
        return sending_id(self)


class QuoteForm(FreshForm[QuoteVersion]):
    """What stands beside the lines."""

    class Meta:
        model = QuoteVersion
        fields = ("valid_until", "note")
        widgets = {"valid_until": DayInput(), "note": forms.Textarea(attrs={"rows": 3})}


class QuoteLineForm(FreshForm[QuoteLine]):
    class Meta:
        model = QuoteLine
        fields = ("what", "why", "quantity", "unit", "unit_price")
        widgets = {
            # As wide as the form: it names a place, and is longer than a line of the grid.
            "what": forms.Textarea(attrs={"rows": 2}),
            "why": forms.Textarea(attrs={"rows": 2}),
            "quantity": forms.NumberInput(attrs=DECIMAL),
            "unit_price": forms.NumberInput(attrs=DECIMAL),
        }

    def __init__(self, *args: Any, currency: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        price: Any = self.fields["unit_price"]
        show_unit(price, currency)
        stored = self.instance.unit_price
        if stored is not None:
            self.initial["unit_price"] = f"{stored:f}".rstrip("0").rstrip(".")


def line_formset(version: QuoteVersion, data: Any = None) -> Any:
    """Rows for the lines of a version."""
    factory = inlineformset_factory(
        QuoteVersion,
        QuoteLine,
        form=QuoteLineForm,
        formset=RemovableRows,
        extra=SPARE_LINES,
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )
    return factory(data, instance=version, prefix="lines", form_kwargs={"currency": version.currency})


class WrittenAnswerForm(forms.Form):
    """What the owner said on paper or by phone."""

    answer = forms.TypedChoiceField(
        label=_lazy("Their answer"), choices=Answer.choices, coerce=Answer, widget=forms.RadioSelect
    )
    answered_by = forms.CharField(
        label=_lazy("Who answered"),
        max_length=120,
        help_text=_lazy("The name of the owner's person, as it reads on the paper."),
    )
    answered_on = forms.DateField(label=pgettext_lazy("a day", "On"), widget=DayInput())
    note = forms.CharField(
        label=_lazy("How, and what else they said"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class AnswerForm(forms.Form):
    """What the owner says."""

    answer = forms.TypedChoiceField(
        label=_lazy("Your answer"), choices=Answer.choices, coerce=Answer, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=_lazy("Note to the firm"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
