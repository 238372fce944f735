"""What the invented firm asks and quotes: a list of last year, one in force, one quote approved and one that waits."""

from datetime import date
from decimal import Decimal

import pytest

from demo.services import quoting
from maintenance.models import Recommendation
from maintenance.selectors.prices import price_list_on
from maintenance.services.cleanings import terms_of
from planning.calc.vocabulary import QuoteState
from planning.models import QuoteVersion, VisitTask
from tests.clock import TODAY
from tests.factories import BECAUSE, CrewFactory, SurfaceFactory


@pytest.fixture
def priced(firm):
    quoting.price_lists(firm.organisation, TODAY, firm.coordinator)
    return firm


def advise(firm, cost):
    return Recommendation.objects.create(
        surface=SurfaceFactory(site=firm.site),
        action="clean",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal(cost),
        grounds=BECAUSE,
    )


def test_the_list_in_force_asks_what_advice_reckons_with_and_last_years_asked_less(priced):
    now, before = (price_list_on(priced.organisation, date(TODAY.year - n, 12, 31)) for n in (0, 1))
    terms = terms_of(priced.organisation)

    assert {m.method.value for m in now.methods.prices} == set(terms)
    assert all(m.per_m2 == terms[m.method].cost_per_m2 for m in now.methods.prices)
    assert before.methods.of("relay").per_m2 < now.methods.of("relay").per_m2
    assert "invented" in now.tax_name
    assert priced.organisation.approval_above == quoting.APPROVAL_ABOVE


def test_the_dearest_work_is_approved_and_planned_and_the_next_waits(priced):
    rows = [advise(priced, cost) for cost in ("300", "900", "600")]

    quoting.quote(
        priced.organisation, CrewFactory(organisation=priced.organisation), TODAY, priced.coordinator
    )

    approved, waits = QuoteVersion.objects.order_by("quote__number")
    assert (approved.state, waits.state) == (QuoteState.APPROVED, QuoteState.SENT)
    assert approved.lines.first().recommendation == rows[1]
    assert [line.recommendation for line in waits.lines.all() if line.recommendation] == [rows[2], rows[0]]
    assert approved.decided_by == priced.owner_person
    assert VisitTask.objects.get().recommendation == rows[1]


def test_without_advice_nothing_is_quoted(priced):
    quoting.quote(
        priced.organisation, CrewFactory(organisation=priced.organisation), TODAY, priced.coordinator
    )

    assert not QuoteVersion.objects.exists()


@pytest.mark.parametrize(
    ("tests", "cleanings", "price"), [(1.0, 0.0, "150"), (0.5, 2.0, "835"), (0.0, 0.0, "0")]
)
def test_an_agreement_has_a_price_by_what_it_promises(tests, cleanings, price):
    assert quoting.agreed_price(tests, cleanings) == Decimal(price)
