"""What the list of work can be narrowed by, and what is decided about several pieces of advice at once."""

from collections.abc import Callable, Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop, pgettext_lazy

from accounts.models import Organisation, Owner
from core.calc.format import labelled, price
from core.forms.parts import DayInput
from maintenance.calc.vocabulary import Action, RecommendationStatus, SurfaceState
from maintenance.models import Recommendation
from planning.calc.vocabulary import ReleaseShown
from planning.forms.visits import DECIDED, crews_of
from planning.models import Crew
from planning.selectors.quotes import approval_of_row
from planning.selectors.work import LISTED, Asked
from qa.models import Site

ADVISED = (Action.CLEAN, Action.REJOINT, Action.TEST, Action.LOOK, Action.SOURCE)


def _choices(kinds: Sequence[Any], every: str) -> Callable[[], list[tuple[str, str]]]:
    """Asked for whenever the list is shown, in the reader's language."""
    return lambda: [("", _(every)), *((kind.value, kind.label) for kind in kinds)]


def _decisions() -> list[tuple[str, str]]:
    return [(one.value, one.label) for one in LISTED]


class WorkFilter(forms.Form):
    """Which advice to list. Sites can be chosen once their owner is: a firm has thousands of them."""

    q = forms.CharField(label=_lazy("Surface, site or owner"), required=False, max_length=120)
    owner = forms.ModelChoiceField(
        Owner.objects.none(), label=_lazy("Owner"), required=False, empty_label=_lazy("Every owner")
    )
    site = forms.ModelChoiceField(
        Site.objects.none(), label=_lazy("Site"), required=False, empty_label=_lazy("Every site")
    )
    kind = forms.ChoiceField(
        label=_lazy("Kind of work"), required=False, choices=_choices(ADVISED, gettext_noop("Every kind"))
    )
    state = forms.ChoiceField(
        label=_lazy("State of the surface"),
        required=False,
        choices=_choices(list(SurfaceState), gettext_noop("Every state")),
    )
    release = forms.ChoiceField(
        label=_lazy("Shown to the owner"),
        required=False,
        choices=_choices(list(ReleaseShown), gettext_noop("Released or not")),
    )
    shown = forms.ChoiceField(label=_lazy("Decision"), required=False, choices=_decisions)

    def __init__(self, data: Any, *, organisation: Organisation) -> None:
        super().__init__(data)
        owners, sites = self.fields["owner"], self.fields["site"]
        owners.queryset = Owner.objects.of_organisation(organisation)  # type: ignore[attr-defined]
        chosen = data.get("owner", "")
        of_firm = Site.objects.of_organisation(organisation)
        if data.get("site") or chosen:
            sites.queryset = of_firm  # type: ignore[attr-defined]
            self.is_valid()
            owner, site = self.cleaned_data.get("owner"), self.cleaned_data.get("site")
            owner = owner or (site.owner if site else None)
            listed = of_firm.filter(owner=owner) if owner else of_firm.none()
            sites.queryset = listed  # type: ignore[attr-defined]
        else:
            del self.fields["site"]

    @property
    def is_narrowed(self) -> bool:
        """Whether anything but the usual list is asked for."""
        return self.asked != Asked()

    @property
    def asked(self) -> Asked:
        """What is asked for; what cannot be read narrows nothing, and its field says so."""
        self.is_valid()
        given = self.cleaned_data
        owner, site = given.get("owner"), given.get("site")
        return Asked(
            status=given.get("shown") or RecommendationStatus.OPEN.value,
            words=given.get("q", ""),
            owner=owner.pk if owner else None,
            site=site.pk if site else None,
            action=given.get("kind", ""),
            state=given.get("state", ""),
            release=given.get("release", ""),
        )


class AdviceChoice(forms.ModelMultipleChoiceField[Recommendation]):
    """Pieces of advice to tick, each with its surface and price."""

    def label_from_instance(self, obj: Recommendation) -> str:
        asked = f", {price(obj.cost, obj.currency)}" if obj.cost is not None else ""
        approval = approval_of_row(obj).label
        return labelled(obj.title, obj.surface) + asked + (f" ({approval})" if approval else "")


class ChosenForm(forms.Form):
    """What was chosen from a list, to be ticked off once more before it is done."""

    advice = AdviceChoice(
        Recommendation.objects.none(), label=_lazy("Advice"), widget=forms.CheckboxSelectMultiple
    )
    field_order: Sequence[str] = ("advice",)

    def __init__(self, *args: Any, chosen: QuerySet[Recommendation], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.chosen = list(chosen)
        self.fields["advice"].queryset = chosen  # type: ignore[attr-defined]
        self.initial.setdefault("advice", [row.pk for row in self.chosen])


class PlanManyForm(ChosenForm):
    """On which day, and with which crew."""

    visit_on = forms.DateField(label=pgettext_lazy("a day", "On"), widget=DayInput())
    crew = forms.ModelChoiceField(Crew.objects.none(), label=_lazy("Crew"))
    decided = forms.BooleanField(label=_lazy(DECIDED), required=False)

    def __init__(self, *args: Any, organisation: Organisation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = crews_of(organisation)  # type: ignore[attr-defined]
        first = [max(row.earliest_on, row.surface.site.today()) for row in self.chosen]
        if first:
            self.initial.setdefault("visit_on", max(first))
        if not any(row.wants_word for row in self.chosen):
            del self.fields["decided"]


class PutOffForm(ChosenForm):
    """Until when, and why."""

    until = forms.DateField(
        label=_lazy("Until"),
        widget=DayInput(),
        help_text=_lazy("It returns on that day, or before it when its grounds become clearly stronger."),
    )
    reason = forms.CharField(
        label=_lazy("Reason"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )


class DeclineManyForm(ChosenForm):
    """Why."""

    reason = forms.CharField(
        label=_lazy("Reason"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_lazy("It stays readable beside the advice. Owners do not read it."),
    )
