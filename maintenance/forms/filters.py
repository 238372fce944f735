"""What the list of surfaces can be narrowed by."""

from typing import Any

import django_filters
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _lazy

from core.calc.folding import MOST_WORDS, words_of
from core.calc.paving import SurfaceType
from maintenance.calc.vocabulary import SurfaceState
from qa.models import Site, Surface

MOST_SITES = 100  # to choose from; among more a word finds one sooner than a list that every page carries


class SurfaceFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(label=_lazy("Name, site or owner"), method="by_words")
    site = django_filters.ModelChoiceFilter(
        label=_lazy("Site"), queryset=Site.objects.none(), empty_label=_lazy("Every site")
    )
    surface_type = django_filters.ChoiceFilter(
        label=_lazy("Type"), choices=SurfaceType.choices, empty_label=_lazy("Every type")
    )
    state = django_filters.ChoiceFilter(
        label=_lazy("State"),
        method="by_state",
        choices=SurfaceState.choices,
        empty_label=_lazy("Every state"),
    )

    class Meta:
        model = Surface
        fields = ("q", "site", "surface_type", "state")

    def __init__(self, *args: Any, sites: QuerySet[Site], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = sites.filter(pk__in=self._asked_for(sites)) if sites.count() > MOST_SITES else sites
        self.filters["site"].queryset = listed
        self.filters["site"].extra["queryset"] = listed

    def _asked_for(self, sites: QuerySet[Site]) -> list[Any]:
        """The site that the address names, where there is one of that id."""
        named = str((self.data or {}).get("site", ""))
        try:
            return [sites.get(pk=named).pk]
        except (Site.DoesNotExist, ValidationError):
            return []

    def by_state(self, rows: QuerySet[Surface], _name: str, state: str) -> QuerySet[Surface]:
        found = Q(forecast__surface_state=state)
        if (
            state == SurfaceState.NOT_TESTED
        ):  # a surface whose forecast is still to be made counts as not tested
            found |= Q(forecast=None)
        return rows.filter(found)

    def by_words(self, rows: QuerySet[Surface], _name: str, words: str) -> QuerySet[Surface]:
        """Surfaces in which every word occurs; none for signs that make no word. Only the first words count."""
        asked = words_of(words)[:MOST_WORDS]
        for word in asked:
            rows = rows.filter(
                Q(words__contains=word) | Q(site__words__contains=word) | Q(site__owner__words__contains=word)
            )
        return rows if asked else rows.none()
