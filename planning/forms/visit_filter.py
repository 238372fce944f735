"""What the list of visits can be narrowed by."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _lazy

from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, Visit


class VisitFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(label=_lazy("Site or surface"), method="by_words")
    crew = django_filters.ModelChoiceFilter(
        label=_lazy("Crew"), queryset=Crew.objects.none(), empty_label=_lazy("Every crew")
    )
    status = django_filters.ChoiceFilter(
        label=_lazy("State"), choices=VisitStatus.choices, empty_label=_lazy("Every state")
    )

    class Meta:
        model = Visit
        fields = ("q", "crew", "status")

    def __init__(self, *args: Any, crews: QuerySet[Crew], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.filters["crew"].queryset = crews
        self.filters["crew"].extra["queryset"] = crews

    def by_words(self, rows: QuerySet[Visit], _name: str, words: str) -> QuerySet[Visit]:
        for word in words.split():
            there = Q(tasks__surface__name__icontains=word) | Q(tasks__surface__site__name__icontains=word)
            rows = rows.filter(pk__in=Visit.objects.filter(there).values("pk"))
        return rows
