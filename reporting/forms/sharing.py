"""Text to typed values for secret links."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Owner
from core.forms.once import OnceForm
from core.forms.parts import DayInput
from qa.models import Site
from reporting.models import SharedLink
from reporting.services.links import NO_SITE

UNITS = (("si", "mm, mm/h, m²"), ("us", "in, in/h, ft²"))


class SitesField(forms.ModelMultipleChoiceField[Site]):
    """Sites, each named with its owner."""

    def label_from_instance(self, obj: Site) -> str:  # type: ignore[override]
        return f"{obj.name}, {obj.owner}"


class LinkForm(OnceForm[SharedLink]):
    """A link to a kept document."""

    units = forms.ChoiceField(choices=UNITS, label=_lazy("Numbers in"))

    class Meta:
        model = SharedLink
        fields = ("for_whom", "ends_on", "units")
        widgets = {"ends_on": DayInput}


class InspectorForm(OnceForm[SharedLink]):
    """A link to the tests and works of sites. owner: stands for all sites of that owner."""

    owner = forms.ModelChoiceField(
        Owner.objects.none(),
        required=False,
        label=_lazy("All sites of"),
        empty_label=_lazy("No owner as a whole"),
    )
    sites = SitesField(
        Site.objects.none(), required=False, widget=forms.CheckboxSelectMultiple, label=_lazy("These sites")
    )
    units = forms.ChoiceField(choices=UNITS, label=_lazy("Numbers in"))
    field_order = ("for_whom", "owner", "sites", "since", "until", "ends_on", "units")

    class Meta:
        model = SharedLink
        fields = ("for_whom", "since", "until", "ends_on", "units")
        widgets = {"since": DayInput, "until": DayInput, "ends_on": DayInput}

    def __init__(self, *args: Any, sites: QuerySet[Site], owners: QuerySet[Owner], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sites"].queryset = sites.select_related("owner")  # type: ignore[attr-defined]
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]
        self.fields["since"].required = True

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        chosen = {site.pk: site for site in cleaned.pop("sites", None) or ()}
        if owner := cleaned.pop("owner", None):
            of_owner = self.fields["sites"].queryset.filter(owner=owner)  # type: ignore[attr-defined]
            chosen |= {site.pk: site for site in of_owner}
        if not chosen and "sites" not in self.errors and "owner" not in self.errors:
            self.add_error("sites", ValidationError(_(NO_SITE)))
        cleaned["chosen"] = tuple(chosen.values())
        return cleaned
