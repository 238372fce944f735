"""What an owner said, beside the work: with the quote, and whether an approval is missing."""

from decimal import Decimal

import pytest
from django.template.loader import render_to_string
from django.utils.timezone import now

from maintenance.models import Recommendation
from planning.calc.vocabulary import ApprovalState
from planning.presentation.approvals import Approval, approval_of
from tests.clock import TODAY
from tests.factories import BECAUSE, QuoteVersionFactory, SurfaceFactory, UserFactory

pytestmark = pytest.mark.django_db
NEEDED = ApprovalState.NEEDED.label


def advice(cost="500"):
    return Recommendation(
        surface=SurfaceFactory(),
        action="clean",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=None if cost is None else Decimal(cost),
        grounds=BECAUSE,
    )


def answered(state):
    return QuoteVersionFactory(state=state, decided_by=UserFactory(full_name="Olga Owner"), decided_at=now())


def test_a_task_of_no_advice_has_no_answer():
    assert approval_of(None, None, Decimal(0), TODAY) == Approval()


@pytest.mark.parametrize(
    ("cost", "above", "missing"),
    [("500", "499", NEEDED), ("500", "500", ""), ("500", None, ""), (None, "0", "")],
)
def test_without_a_quote_the_firms_sum_decides(cost, above, missing):
    found = approval_of(advice(cost), None, None if above is None else Decimal(above), TODAY)

    assert (found.said, found.missing) == ("", missing)


@pytest.mark.parametrize(("state", "missing"), [("approved", ""), ("declined", NEEDED)])
def test_only_an_approval_is_one(state, missing):
    found = approval_of(advice(), answered(state), Decimal(100), TODAY)

    assert found.missing == missing
    assert found.said.startswith(f"{state} by Olga Owner")


def test_a_quote_that_waits_is_told_and_the_approval_is_missing():
    found = approval_of(advice(), QuoteVersionFactory(), Decimal(100), TODAY)

    assert "waits for the owner" in found.said
    assert found.missing == NEEDED


def test_the_part_of_the_page_leads_to_the_quote():
    version = answered("approved")
    found = approval_of(advice(), version, None, TODAY)

    page = render_to_string("planning/_approval.html", {"approval": found})

    assert version.get_absolute_url() in page
    assert "Approved by Olga Owner" in page
    assert NEEDED not in page


def test_the_part_of_the_page_is_empty_where_there_is_nothing_to_say():
    assert render_to_string("planning/_approval.html", {"approval": Approval()}).strip() == ""
