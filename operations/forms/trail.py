"""What the list of changes can be narrowed by."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, User
from operations.calc.trail_kinds import TRAIL_KINDS
from operations.selectors.trail import AskedTrail


class TrailFilter(forms.Form):
    """Person, kind and days; what no choice has narrows nothing, and is said."""

    person = forms.ModelChoiceField(User.objects.none(), label=_lazy("Person"), required=False)
    kind = forms.ChoiceField(
        label=_lazy("Kind"),
        required=False,
        choices=lambda: [("", _("Every kind")), *((kind.key, _(kind.words)) for kind in TRAIL_KINDS)],
    )
    since = forms.DateField(
        label=_lazy("From"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    until = forms.DateField(
        label=_lazy("To"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, data: Any, organisation: Organisation) -> None:
        super().__init__(data)
        people: Any = self.fields["person"]
        people.queryset = people_of(organisation)
        people.empty_label = _("Everybody")

    def asked(self) -> AskedTrail:
        """What was chosen."""
        self.is_valid()
        chosen = self.cleaned_data
        person = chosen.get("person")
        days = chosen.get("since"), chosen.get("until")
        return AskedTrail(chosen.get("kind", ""), person.pk if person else None, *days)


def people_of(organisation: Organisation) -> Any:
    """Whoever has or had a role in the firm."""
    had = organisation.memberships.model.history.filter(organisation=organisation.pk).values("user_id")
    return User.objects.filter(pk__in=had).order_by("email")
