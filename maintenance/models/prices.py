"""Price lists: what owners are asked to pay, from which day on."""

from datetime import date
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.calc.units import UnitSystem
from core.models.currencies import money_field
from core.models.decimals import DecimalColumn
from core.models.payloads import StoredFact
from core.models.rows import OnceRow
from maintenance.calc.price_list import MethodPrices, no_prices

NOT_OFFERED = _lazy("Empty: the list has no price for it.")


class PriceListQuerySet(TenantQuerySet["PriceList"]):
    def begun(self, on: date) -> Self:
        """Lists whose day had come by then, the one in force first."""
        return self.filter(valid_from__lte=on).order_by("-valid_from", "-created_at", "-pk")


class PriceList(OnceRow):
    """The prices that a firm asks from a day on. Never rewritten: a new list takes its place, and this one stays.

    A price is what an owner pays. What work costs the firm is another matter: hours of the crew, or the price of a
    subcontracted one.
    """

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="price_lists", editable=False)
    valid_from = models.DateField(
        _lazy("valid from"), help_text=_lazy("The list before it is in force until then.")
    )
    currency = models.CharField(max_length=3, editable=False)
    tax_name = models.CharField(
        _lazy("name of the tax"), max_length=40, blank=True, help_text=_lazy("Such as VAT.")
    )
    tax_percent = DecimalColumn(
        _lazy("rate of the tax (%)"),
        max_digits=6,
        decimal_places=3,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text=_lazy("0 where none is charged. Which rate applies is a matter of the local law."),
    )
    prices_include_tax = models.BooleanField(
        _lazy("the prices below include the tax"),
        default=False,
        help_text=_lazy("Not ticked: the tax is added to them."),
    )
    units = models.CharField(
        max_length=2,
        choices=UnitSystem.choices,
        default=UnitSystem.SI.value,
        editable=False,
        help_text="Of whoever wrote it: quotes by the list count areas and material in them.",
    )
    methods_json = models.JSONField(default=no_prices, editable=False)
    methods = StoredFact(MethodPrices, "methods_json")
    test_price = money_field(_lazy("test round of a surface"), null=True, blank=True, help_text=NOT_OFFERED)
    inspection_price = money_field(
        _lazy("inspection of a surface"), null=True, blank=True, help_text=NOT_OFFERED
    )
    call_out_price = money_field(
        _lazy("travel and call-out to a site"), null=True, blank=True, help_text=NOT_OFFERED
    )
    material_kg_price = money_field(
        _lazy("joint material, a kilogram"), null=True, blank=True, help_text=NOT_OFFERED
    )
    note = models.TextField(blank=True)
    made_by = models.ForeignKey(User, models.PROTECT, editable=False, related_name="+")

    objects = PriceListQuerySet.as_manager()

    class Meta:
        ordering = ("-valid_from", "-created_at")

    def __str__(self) -> str:
        return _("Prices from {day}").format(day=day(self.valid_from))

    def get_absolute_url(self) -> str:
        return reverse("maintenance:price-detail", args=[self.pk])
