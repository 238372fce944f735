"""Text to typed values for sites."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from accounts.models import Owner
from accounts.models.tenancy import M
from core.calc.calendar_numbers import CalendarNumbers
from core.calc.countries import country_of
from core.calc.months import Months
from core.calc.units import Quantity
from core.calc.weekdays import NAMES, Weekdays
from core.forms.fresh import FreshForm
from core.forms.once import OnceForm
from core.forms.parts import Group, TimeInput, folded_up, grouped
from core.forms.prices import WORTH, PricedForm
from core.forms.zones import ZoneField
from qa.models import RainRecord, Site

MONTH_CHOICES = [(number, name) for number, name in MONTHS.items()]


GROUPS = (
    (gettext_noop("The site"), ("owner", "name", "address")),
    (
        gettext_noop("Time zone, months of frost and of falling leaves"),
        ("time_zone", "frost_months", "leaf_fall_months"),
    ),
    (gettext_noop("Position and rain gauge"), ("latitude_deg", "longitude_deg", "rain_record")),
    (
        gettext_noop("When and how one gets in"),
        ("works_from", "works_until", "closed_weekdays", "notice_days", "access_note"),
    ),
    (gettext_noop("What a year within the limit is worth here"), ("below_price_m2_yr",)),
)


class NumbersField(forms.TypedMultipleChoiceField):
    """Numbers of the calendar, ticked by name. of: what they are stored as; names: by number."""

    def __init__(self, of: type[CalendarNumbers], names: Iterable[tuple[int, Any]], **kwargs: Any) -> None:
        self.of = of
        super().__init__(
            choices=list(names), coerce=int, required=False, widget=forms.CheckboxSelectMultiple, **kwargs
        )

    def prepare_value(self, value: Any) -> Any:
        return list(value) if isinstance(value, self.of) else value

    def clean(self, value: Any) -> CalendarNumbers:
        return self.of(tuple(super().clean(value)))


class MonthsField(NumbersField):
    """Month numbers, ticked by name."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Months, MONTH_CHOICES, **kwargs)


class WeekdaysField(NumbersField):
    """Numbers of weekdays, ticked by name."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Weekdays, [(number, _lazy(name)) for number, name in enumerate(NAMES, 1)], **kwargs)


class MonthsForm(FreshForm[M]):
    """A form whose fields of months and weekdays show and fill the row's own."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in self._months():
            self.initial.setdefault(name, getattr(self.instance, name))

    def _post_clean(self) -> None:
        for name in self._months():
            if name in self.cleaned_data:
                setattr(self.instance, name, self.cleaned_data[name])
        super()._post_clean()  # type: ignore[misc]

    def _months(self) -> list[str]:
        return [name for name, field in self.fields.items() if isinstance(field, NumbersField)]


class SiteForm(MonthsForm[Site], OnceForm[Site], PricedForm[Site]):
    prices = {"below_price_m2_yr": (Quantity.PRICE_BY_AREA, WORTH)}

    frost_months = MonthsField(
        label=_lazy("Frost months"),
        help_text=_lazy("Months when frost may stop work and water stands as ice."),
    )
    leaf_fall_months = MonthsField(
        label=_lazy("Leaf fall months"),
        help_text=_lazy("Months when leaves come down; cleaning waits until after them."),
    )
    time_zone = ZoneField(label=_lazy("Time zone"), help_text=_lazy("It decides what day it is at the site."))
    closed_weekdays = WeekdaysField(
        label=_lazy("Closed weekdays"), help_text=_lazy("Days on which nobody works there.")
    )

    class Meta:
        model = Site
        fields = (
            "owner",
            "name",
            "address",
            "latitude_deg",
            "longitude_deg",
            "time_zone",
            "rain_record",
            "frost_months",
            "leaf_fall_months",
            "below_price_m2_yr",
            "works_from",
            "works_until",
            "closed_weekdays",
            "notice_days",
            "access_note",
        )
        widgets = {
            "access_note": forms.Textarea(attrs={"rows": 2}),
            "works_from": TimeInput(),
            "works_until": TimeInput(),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        firm = self.instance.organisation
        self.fields["time_zone"].begin_with(firm.country, self.instance.time_zone)  # type: ignore[attr-defined]
        owners = Owner.objects.of_organisation(firm)
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]
        if self.instance._state.adding:
            self._start_from_what_is_known(owners)
        records = RainRecord.objects.of_organisation(firm)
        self.fields["rain_record"].queryset = records  # type: ignore[attr-defined]
        if not records:
            del self.fields["rain_record"]
        self.fields["owner"].empty_label = _("Choose an owner")  # type: ignore[attr-defined]

    def _start_from_what_is_known(self, owners: QuerySet[Owner]) -> None:
        """The only owner there is; time zone and months of its newest site, else what is usual in the country."""
        if len(owners) == 1:
            self.initial["owner"] = self.initial.get("owner") or owners[0].pk
        firm = self.instance.organisation
        newest = firm.sites.order_by("-created_at").first()
        country = country_of(firm.country)
        self.initial["time_zone"] = newest.time_zone if newest else firm.time_zone
        if like := newest or country:
            self.initial["frost_months"] = like.frost_months
            self.initial["leaf_fall_months"] = like.leaf_fall_months

    @property
    def groups(self) -> list[Group]:
        """What every site needs, then what follows from the country or is known later."""
        groups = [(_(title), names) for title, names in GROUPS]
        return folded_up(grouped(self, *groups), *(title for title, _names in groups[1:]))
