"""Text to typed values for tokens."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop, pgettext_lazy

from api.calc.scopes import Scope, Verb
from api.selectors.tokens import Place
from core.forms.once import sending_id
from core.forms.parts import Group, bound_fields

DAYS = (
    (30, _lazy("30 days")),
    (90, _lazy("90 days")),
    (180, _lazy("180 days")),
    (365, pgettext_lazy("how long a token is good", "a year")),
)
NO_SCOPE = gettext_noop("Tick at least one thing that it may do.")


class TokenForm(forms.Form):
    """What a token is for, what it may do, and how long. Nothing is offered that its person may not do."""

    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    name = forms.CharField(
        label=_lazy("What it is for"),
        max_length=80,
        help_text=_lazy("Such as the program that uses it. You tell your tokens apart by it."),
    )
    days = forms.TypedChoiceField(
        label=_lazy("It ends after"),
        choices=DAYS,
        coerce=int,
        initial=90,
        help_text=_lazy("Then make a new one."),
    )

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.place = place
        for verb in Verb:
            choices = [(scope.value, scope.label) for scope in place.scopes if scope.verb is verb]
            if choices:
                self.fields[verb.value] = _ticks(verb.label, choices)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        given = [Scope(value) for verb in Verb for value in cleaned.get(verb.value) or ()]
        if not given and not any(verb.value in self.errors for verb in Verb):
            self.add_error(Verb.READ.value, _(NO_SCOPE))
        return cleaned | {"scopes": given, "sending": sending_id(self)}

    @property
    def groups(self) -> list[Group]:
        """The fields in the order a person thinks of them."""
        return [
            Group(_("The token"), bound_fields(self, "name", "days")),
            Group(_("What it may do"), bound_fields(self, *Verb.values), grid=False),
        ]


def _ticks(label: str, choices: list[tuple[str, str]]) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label, choices=choices, required=False, widget=forms.CheckboxSelectMultiple
    )
