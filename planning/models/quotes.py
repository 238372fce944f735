"""Quotes to owners: what work would cost them, version by version, and what they said to it."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, FloatField, Q
from django.db.models.functions import Cast
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.roles import Role
from accounts.models import Organisation, Owner, User
from accounts.models.tenancy import M, TenantQuerySet
from core.calc.paving import CleaningMethod
from core.models.currencies import money_field
from core.models.decimals import DecimalColumn
from core.models.rows import OnceRow, Row
from maintenance.models import Recommendation
from maintenance.models.recommendations import method_now
from planning.calc.quotes import QuoteUnit, Sums, Tax, amount_of, number_words
from planning.calc.vocabulary import QuoteState
from qa.models import Site, Surface


class OfQuoteQuerySet(TenantQuerySet[M]):
    """Rows of quotes. An owner's people read what was sent; `sent_path` leads to the day."""

    sent_path = ""

    def for_user(self, user: Any, role: Role = Role.OWNER) -> "OfQuoteQuerySet[M]":
        """All of the firm's; an owner's people read only what was sent to them."""
        of_firm = super().for_user(user, max(role, Role.VIEWER))
        if role != Role.OWNER:
            return of_firm
        return of_firm | super().for_user(user, role).filter(**{f"{self.sent_path}__isnull": False})


class QuoteQuerySet(OfQuoteQuerySet["Quote"]):
    organisation_path = "organisation"
    owner_path = "owner"
    sent_path = "first_sent_at"


class Quote(OnceRow):
    """A quote to one owner under one number. What it says stands in its versions; it is never removed."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="quotes", editable=False)
    owner = models.ForeignKey(Owner, models.PROTECT, related_name="quotes", editable=False)
    year = models.PositiveSmallIntegerField(editable=False)
    number = models.PositiveIntegerField(
        editable=False, help_text=_lazy("Runs within a firm and year, without gaps.")
    )
    first_sent_at = models.DateTimeField(null=True, editable=False)
    made_by = models.ForeignKey(User, models.PROTECT, editable=False, related_name="+")

    objects = QuoteQuerySet.as_manager()

    class Meta:
        ordering = ("-year", "-number")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "year", "number"),
                name="planning_quote_number_once",
                violation_error_message=_lazy("There is a quote of this number. Send the form again."),
            )
        ]

    def __str__(self) -> str:
        return _("Quote {number}").format(number=number_words(self.year, self.number))


_RANK = models.Case(
    models.When(state=QuoteState.APPROVED, then=0), models.When(state=QuoteState.SENT, then=1), default=2
)


class QuoteVersionQuerySet(OfQuoteQuerySet["QuoteVersion"]):
    organisation_path = "quote__organisation"
    owner_path = "quote__owner"
    sent_path = "sent_at"

    def answerable_by(self, user: Any) -> "QuoteVersionQuerySet":
        """Sent to an owner for whom the person speaks: of a firm's own people nobody does."""
        return self.filter(quote__owner__people__user=user.pk, sent_at__isnull=False)

    def leading(self, *, sent_only: bool = False) -> "QuoteVersionQuerySet":
        """Of each quote the version that counts: approved, else waiting for an answer, else the newest."""
        rows = QuoteVersion.objects.filter(quote=models.OuterRef("quote")).annotate(rank=_RANK)
        rows = rows.filter(sent_at__isnull=False) if sent_only else rows
        return self.filter(pk=models.Subquery(rows.order_by("rank", "-version").values("pk")[:1]))


class QuoteVersion(Row):
    """What a quote says. A draft may be changed; once sent it stands for good, and a change is a new version."""

    quote = models.ForeignKey(Quote, models.PROTECT, related_name="versions", editable=False)
    version = models.PositiveSmallIntegerField(editable=False)
    state = models.CharField(
        max_length=10, choices=QuoteState.choices, default=QuoteState.DRAFT.value, editable=False
    )
    valid_until = models.DateField(
        _lazy("valid until"), help_text=_lazy("The last day on which it can be approved.")
    )
    note = models.TextField(
        _lazy("note to the owner"), blank=True, help_text=_lazy("It stands below the lines.")
    )
    currency = models.CharField(max_length=3, editable=False)
    tax_name = models.CharField(max_length=40, blank=True, editable=False)
    tax_percent = DecimalColumn(
        max_digits=6,
        decimal_places=3,
        editable=False,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )
    prices_include_tax = models.BooleanField(editable=False)
    net = money_field(_lazy("net"), default=Decimal(0), editable=False)
    tax = money_field(_lazy("tax"), default=Decimal(0), editable=False)
    total = money_field(_lazy("total"), default=Decimal(0), editable=False)
    written_by = models.ForeignKey(User, models.PROTECT, editable=False, related_name="+")
    sent_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    sent_at = models.DateTimeField(null=True, editable=False)
    decided_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    decided_at = models.DateTimeField(null=True, editable=False)
    decided_on = models.DateField(
        _lazy("answered on"),
        null=True,
        editable=False,
        help_text=_lazy("The day at the firm on which the owner answered."),
    )
    answered_by = models.CharField(
        _lazy("who answered"),
        max_length=120,
        blank=True,
        editable=False,
        help_text=_lazy("The owner's person whose answer on paper or by phone the office wrote down."),
    )
    decision_note = models.TextField(blank=True, editable=False)

    objects = QuoteVersionQuerySet.as_manager()

    class Meta:
        ordering = ("-quote__year", "-quote__number", "-version")
        constraints = [
            models.UniqueConstraint(
                fields=("quote", "version"),
                name="planning_quote_version_once",
                violation_error_message=_lazy("Somebody made this version meanwhile. Open the quote again."),
            ),
            models.CheckConstraint(
                condition=Q(decided_at__isnull=True, decided_on__isnull=True)
                | Q(decided_at__isnull=False, decided_on__isnull=False),
                name="planning_quote_answer_has_day",
                violation_error_message=_lazy("An answer has a day, and a day of an answer is that of one."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} v{self.version}"

    def get_absolute_url(self) -> str:
        return reverse("planning:quote-detail", args=[self.pk])

    @property
    def is_draft(self) -> bool:
        """Whether it was never sent and may still be."""
        return self.state == QuoteState.DRAFT

    @property
    def is_approved(self) -> bool:
        """Whether its owner approved it."""
        return self.state == QuoteState.APPROVED

    def state_on(self, today: date) -> QuoteState:
        """How it stands on a day: a sent one runs out after its last day."""
        ran_out = self.state == QuoteState.SENT and self.valid_until < today
        return QuoteState.EXPIRED if ran_out else QuoteState(self.state)

    @property
    def sums(self) -> Sums:
        """What its lines come to, as stored with them."""
        return Sums(self.net, self.tax, self.total)

    @property
    def decider(self) -> str:
        """Who answered; of an answer that the office wrote down, who did that as well."""
        if self.answered_by:
            return _("{who} (written down by {by})").format(who=self.answered_by, by=self.decided_by)
        return str(self.decided_by) if self.decided_by else ""

    @property
    def tax_rule(self) -> Tax:
        """Which tax, and whether the prices hold it."""
        return Tax(self.tax_name, self.tax_percent, self.prices_include_tax)


class QuoteLineQuerySet(OfQuoteQuerySet["QuoteLine"]):
    organisation_path = "version__quote__organisation"
    owner_path = "version__quote__owner"
    sent_path = "version__sent_at"

    def covering(self) -> "QuoteLineQuerySet":
        """Lines for what is still advised: by the same way of cleaning, for no more than they were quoted with.

        The price of advice may lie above the amount of its line where the office quoted less, and below where it
        quoted more; the owner said yes to the higher one. Half a cent is left for the rounding of the amount.
        """
        asked = F("recommendation__cost")
        amount = Cast(F("quantity"), FloatField()) * Cast(F("unit_price"), FloatField())
        no_dearer = (
            Q(recommendation__cost=None)
            | Q(advised_price__gte=asked)
            | Q(amount_about__gte=Cast(asked, FloatField()))
        )
        rows = self.annotate(amount_about=amount + 0.005).filter(no_dearer)
        return rows.filter(method=method_now("recommendation__"))


class QuoteLine(Row):
    """One line of a version: what, why, how much of it, at which price. surface, site: empty where written by hand."""

    version = models.ForeignKey(QuoteVersion, models.PROTECT, related_name="lines", editable=False)
    position = models.PositiveSmallIntegerField(editable=False)
    recommendation = models.ForeignKey(
        Recommendation, models.SET_NULL, null=True, editable=False, related_name="quote_lines"
    )
    surface = models.ForeignKey(
        Surface, models.PROTECT, null=True, editable=False, related_name="quote_lines"
    )
    site = models.ForeignKey(Site, models.PROTECT, null=True, editable=False, related_name="quote_lines")
    what = models.CharField(_lazy("what"), max_length=200)
    why = models.TextField(
        _lazy("why"), blank=True, help_text=_lazy("One sentence that an owner understands.")
    )
    quantity = DecimalColumn(
        _lazy("quantity"), max_digits=12, decimal_places=2, validators=[MinValueValidator(Decimal("0.01"))]
    )
    unit = models.CharField(
        _lazy("unit"), max_length=10, choices=QuoteUnit.choices, default=QuoteUnit.LUMP_SUM.value
    )
    method = models.CharField(
        max_length=16,
        choices=CleaningMethod.choices,
        blank=True,
        editable=False,
        help_text=_lazy("The way of cleaning that the advice asked for when it was quoted."),
    )
    advised_price = money_field(
        _lazy("price of the advice"),
        null=True,
        editable=False,
        help_text=_lazy("When it was quoted; empty where it had none."),
    )
    unit_price = money_field(
        _lazy("price of one"),
        null=True,
        blank=True,
        help_text=_lazy("It must be known before the quote is sent."),
    )

    objects = QuoteLineQuerySet.as_manager()

    class Meta:
        ordering = ("version", "position")
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="planning_quote_quantity_above_zero",
                violation_error_message=_lazy("The quantity must be more than 0."),
            )
        ]

    def __str__(self) -> str:
        return self.what

    def amount_in(self, currency: str) -> Decimal:
        """What the line comes to; 0 while its price is not known."""
        return amount_of(self.quantity, self.unit_price or Decimal(0), currency)
