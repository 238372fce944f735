"""Price lists and quotes of the invented firm: one that the owner approved, one that waits. All prices are invented."""

from datetime import date, timedelta
from decimal import Decimal

from accounts.models import Organisation, Owner, User
from core.calc.paving import CleaningMethod
from maintenance.calc.costs import DEFAULT_TERMS
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.models import PriceList, Recommendation
from maintenance.services.prices import save_price_list
from planning.calc.vocabulary import Answer
from planning.models import Crew
from planning.services import quotes, visits

APPROVAL_ABOVE = Decimal(1500)
BEFORE = Decimal("0.95")  # of today's prices, a year ago
TEST_A_YEAR, CLEANING_A_YEAR = Decimal(150), Decimal(380)
CENT = Decimal("0.01")
VALID, SOON = timedelta(days=30), timedelta(days=12)


def price_lists(firm: Organisation, today: date, by: User) -> None:
    """Last year's list, and the one in force; work above a sum needs the owner's approval."""
    for year, share in ((today.year - 1, BEFORE), (today.year, Decimal(1))):
        save_price_list(prices=_list(firm, date(year, 1, 1), share), by=by)
    firm.approval_above = APPROVAL_ABOVE
    firm.save(update_fields=["approval_above"])


def _list(firm: Organisation, valid_from: date, share: Decimal) -> PriceList:
    def of(amount: str) -> Decimal:
        return (Decimal(amount) * share).quantize(CENT)

    prices = tuple(
        MethodPrice(method, of(start.cost_per_m2), of(start.minimum_charge))
        for method, start in ((method, DEFAULT_TERMS[method]) for method in CleaningMethod)
    )
    return PriceList(
        organisation=firm,
        valid_from=valid_from,
        tax_name="VAT (invented)",
        tax_percent=Decimal(20),
        methods_json=MethodPrices(prices).to_json(),
        test_price=of("160.00"),
        inspection_price=of("95.00"),
        call_out_price=of("60.00"),
        material_kg_price=of("0.90"),
        note="Invented prices.",
    )


def agreed_price(tests_a_year: float, cleanings_a_year: float) -> Decimal:
    """What the agreement of a site costs a year, to the whole unit."""
    a_year = Decimal(repr(tests_a_year)) * TEST_A_YEAR + Decimal(repr(cleanings_a_year)) * CLEANING_A_YEAR
    return a_year.quantize(Decimal(1))


def quote(firm: Organisation, crew: Crew, today: date, by: User) -> None:
    """Two quotes to the owner whose person signs in: one approved and planned, one that waits."""
    owner = Owner.objects.of_organisation(firm).filter(people__isnull=False).first()
    rows = Recommendation.objects.of_organisation(firm).ahead().filter(surface__site__owner=owner)
    known = rows.exclude(cost=None).select_related("surface__site__owner").order_by("-cost", "pk")
    priced = sorted(known, key=lambda row: row.is_agreed_only)  # what is needed first; the dearest of it
    if owner is None or not priced:
        return
    person = owner.people.select_related("user").get().user
    for number, work in enumerate((priced[:1], priced[1:3])):
        if work:
            draft = quotes.quote_advice(recommendations=work, by=by, valid_until=today + VALID)
            sent = quotes.send(version=draft, by=by)
            if number == 0:
                note = "Please not in the exam week."
                quotes.decide(version=sent, by=person, answer=Answer.APPROVED, note=note)
                _plan(work[0], crew, today, by)


def _plan(row: Recommendation, crew: Crew, today: date, by: User) -> None:
    """What is approved goes on a visit, unless it is on one."""
    if row.can_be_decided:
        day = max(row.earliest_on, today + SOON)
        visits.plan(recommendation=row, by=by, visit_on=day, crew=crew, decided=True)
