"""What a calendar is asked for in its address."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, Owner, User
from core.forms.parts import DayInput
from planning.calc.calendar_days import FIRST, LAST, Span, View, span_of
from planning.models import Crew
from planning.selectors.calendar import Narrowed
from qa.models import Site

EVERY_CREW = "all"  # in the address, for who has a crew of their own


class CalendarFilter(forms.Form):
    """Which days, and whose. What cannot be read narrows nothing, and its field says so.

    Sites can be chosen once their owner is: a firm has thousands of them.
    """

    view = forms.ChoiceField(choices=View.choices, required=False, widget=forms.HiddenInput)
    on = forms.DateField(label=_lazy("Day"), required=False, widget=DayInput())
    crew = forms.ChoiceField(label=_lazy("Crew"), required=False)
    owner = forms.ModelChoiceField(
        Owner.objects.none(), label=_lazy("Owner"), required=False, empty_label=_lazy("Every owner")
    )
    site = forms.ModelChoiceField(
        Site.objects.none(), label=_lazy("Site"), required=False, empty_label=_lazy("Every site")
    )

    def __init__(
        self, data: Mapping[str, Any], *, user: User, organisation: Organisation | None, today: date
    ) -> None:
        super().__init__(data)
        self.today = today
        self.own: list[Crew] = []
        self.crews: dict[str, Crew] = {}
        if organisation is None:
            self._for_owner(user)
        else:
            self._for_firm(user, organisation, data)
        self.is_valid()

    def _for_owner(self, user: User) -> None:
        del self.fields["crew"], self.fields["owner"]
        own = Site.objects.for_user(user).filter(owner__people__user=user)
        self.fields["site"].queryset = own  # type: ignore[attr-defined]

    def _for_firm(self, user: User, organisation: Organisation, data: Mapping[str, Any]) -> None:
        crews = Crew.objects.of_organisation(organisation)
        self.crews = {str(crew.pk): crew for crew in crews.filter(retired=False)}
        self.own = list(crews.filter(people=user, retired=False))
        names = [(pk, crew.name) for pk, crew in self.crews.items()]
        self.fields["crew"].choices = [(EVERY_CREW, _("Every crew")), *names]  # type: ignore[attr-defined]
        self.fields["owner"].queryset = Owner.objects.of_organisation(organisation)  # type: ignore[attr-defined]
        sites = Site.objects.of_organisation(organisation)
        owner, site = data.get("owner"), data.get("site")
        if not (owner or site):
            del self.fields["site"]
            return
        self.fields["site"].queryset = sites  # type: ignore[attr-defined]
        self.is_valid()
        given = self.cleaned_data
        found = given.get("owner") or getattr(given.get("site"), "owner", None)
        listed_sites = sites.filter(owner=found) if found else sites.none()
        self.fields["site"].queryset = listed_sites  # type: ignore[attr-defined]

    @property
    def span(self) -> Span:
        """The days that are asked for: of this month where nothing is."""
        return span_of(
            View(self.cleaned_data.get("view") or View.MONTH), self.cleaned_data.get("on") or self.today
        )

    @property
    def of_crew(self) -> Crew | None:
        """The crew asked for; the person's own where nobody asks and they go out with one alone."""
        asked = str(self.cleaned_data.get("crew") or "")
        if not asked and len(self.own) == 1:
            return self.own[0]
        return self.crews.get(asked)

    @property
    def to(self) -> Narrowed:
        """What it is narrowed to."""
        crew, owner, site = self.of_crew, self.cleaned_data.get("owner"), self.cleaned_data.get("site")
        return Narrowed(crew.pk if crew else None, owner.pk if owner else None, site.pk if site else None)

    @property
    def is_narrowed(self) -> bool:
        """Whether not everything is shown."""
        return self.to != Narrowed()

    def address(self, **changes: str) -> str:
        """The query of this calendar with something else: what is shared shows others the same."""
        to, span = self.to, self.span
        asked = {"view": span.view.value, "on": span.on.isoformat()}
        if "crew" in self.fields:
            asked["crew"] = str(to.crew or EVERY_CREW)
        asked |= {name: str(pk) for name, pk in (("owner", to.owner), ("site", to.site)) if pk}
        return "?" + urlencode(asked | changes)

    def shown(self) -> None:
        """Have the fields show what is asked for, where the address does not say it."""
        span = self.span
        self.data = {"view": span.view.value, "on": span.on.isoformat()} | {
            name: str(self.data[name]) for name in self.fields if self.data.get(name)
        }
        if "crew" in self.fields:
            self.data["crew"] = str(self.of_crew.pk) if self.of_crew else EVERY_CREW


class DayForm(forms.Form):
    """One day to look at."""

    on = forms.DateField(label=_lazy("Day"), required=False, widget=DayInput())

    def __init__(self, data: Mapping[str, Any], *, today: date) -> None:
        super().__init__(data)
        self.is_valid()
        on = self.cleaned_data.get("on") or today
        self.day = min(max(on, FIRST), LAST)
        if not self.errors:
            self.data = {"on": self.day.isoformat()}
