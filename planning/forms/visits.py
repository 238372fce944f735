"""Text to typed values for visits, their tasks and decisions."""

from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop, pgettext_lazy

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from core.forms.once import OnceForm, sending_id
from core.forms.parts import DayInput
from maintenance.calc.suitability import suited_methods
from maintenance.calc.vocabulary import Action
from maintenance.models import Recommendation
from planning.models import Crew, Visit, VisitTask
from qa.models import Site, Surface

DECIDED = gettext_noop("I have looked at the newest test and at the price, and decide to restore it")
NOT_SUITED = gettext_noop("%(method)s does not suit %(type)s. Choose one of: %(suited)s.")


class VisitForm(OnceForm[Visit]):
    class Meta:
        model = Visit
        fields = ("visit_on", "crew", "note")
        widgets = {
            "visit_on": DayInput(),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = crews_of(self.instance.organisation)  # type: ignore[attr-defined]


class PlanForm(forms.Form):
    """Take a recommendation on: which day, which crew, and with what."""

    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    visit_on = forms.DateField(label=pgettext_lazy("a day", "On"), widget=DayInput())
    crew = forms.ModelChoiceField(label=_lazy("Crew"), queryset=Crew.objects.none())
    method = forms.ChoiceField(label=_lazy("Method"), required=False)
    reason = forms.CharField(
        label=_lazy("Reason"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_lazy("Needed only when you take another method than advised."),
    )

    def __init__(self, *args: Any, recommendation: Recommendation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        surface = recommendation.surface
        self.fields["crew"].queryset = crews_of(surface.organisation)  # type: ignore[attr-defined]
        self.initial.setdefault("visit_on", max(recommendation.earliest_on, surface.site.today()))
        self.initial.setdefault("method", recommendation.method)
        if recommendation.method:
            names = dict(CleaningMethod.choices())
            choices = [(m, names[m]) for m in suited_methods(surface.surface_type)]
            self.fields["method"].choices = choices  # type: ignore[attr-defined]
        else:
            del self.fields["method"], self.fields["reason"]
        if recommendation.wants_word:
            self.fields["decided"] = forms.BooleanField(label=_(DECIDED), required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["device_id"] = sending_id(self)
        return cleaned


class OnVisitForm(forms.Form):
    """Put something on a visit: which day, which crew."""

    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    visit_on = forms.DateField(label=pgettext_lazy("a day", "On"), widget=DayInput())
    crew = forms.ModelChoiceField(label=_lazy("Crew"), queryset=Crew.objects.none())

    def __init__(self, *args: Any, site: Site, first_on: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = crews_of(site.organisation)  # type: ignore[attr-defined]
        self.initial.setdefault("visit_on", max(first_on or site.today(), site.today()))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["device_id"] = sending_id(self)
        return cleaned


class TaskForm(OnceForm[VisitTask]):
    """Add a task to a visit by hand."""

    class Meta:
        model = VisitTask
        fields = ("surface", "action", "method")

    def __init__(self, *args: Any, organisation: Organisation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        surfaces = (
            Surface.objects.of_organisation(organisation).filter(removed_on=None).select_related("site")
        )
        self.fields["surface"].queryset = surfaces  # type: ignore[attr-defined]
        # What is to be corrected is planned from its finding, which says what.
        by_hand = [(a.value, a.label) for a in Action if a is not Action.REPAIR]
        self.fields["action"].choices = by_hand  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["device_id"] = sending_id(self)
        wants_method = "action" in cleaned and Action(cleaned["action"]).cleans
        if wants_method and not cleaned.get("method"):
            self.add_error("method", _("Say which way of cleaning."))
        if not wants_method:
            cleaned["method"] = ""
        self._refuse_unsuited(cleaned.get("surface"), cleaned.get("method", ""))
        return cleaned

    def _refuse_unsuited(self, surface: Surface | None, method: str) -> None:
        """Joints are refilled where there are joints: what cannot be done to a surface is not planned for it."""
        if not surface or not method or method in suited_methods(surface.surface_type):
            return
        said = {
            "method": CleaningMethod(method).label,
            "type": surface.get_surface_type_display().lower(),
            "suited": ", ".join(one.in_sentence for one in suited_methods(surface.surface_type)),
        }
        self.add_error("method", forms.ValidationError(_(NOT_SUITED), params=said))


class FindingForm(forms.Form):
    finding = forms.CharField(
        label=_lazy("What was found"),
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_lazy("What was seen, and who looks after it next."),
    )


def crews_of(organisation: Organisation) -> Any:
    """Crews that are active."""
    return Crew.objects.of_organisation(organisation).filter(retired=False)
