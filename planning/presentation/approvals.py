"""What an owner said to a piece of work, beside it wherever it is advised or planned."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.models import Recommendation
from planning.calc.quotes import approval_state
from planning.calc.vocabulary import ApprovalState
from planning.models import QuoteVersion
from planning.presentation.quotes import cited_answer


@dataclass(frozen=True, slots=True)
class Approval:
    """said: the answer, or that a quote waits for one; quote: where it stands; missing: in words that none is there."""

    said: str = ""
    quote: QuoteVersion | None = None
    missing: str = ""


def approval_of(
    advice: Recommendation | None, answer: QuoteVersion | None, above: Decimal | None, today: date | None
) -> Approval:
    """Of one piece of advice. above: the price from which the firm needs an approval; today: None tells none."""
    if advice is None or today is None:
        return Approval()
    approved = answer is not None and answer.is_approved
    state = approval_state(advice.cost, above, is_approved=approved)
    missing = state.label if state is ApprovalState.NEEDED else ""
    return Approval(cited_answer(answer, today), answer, missing)
