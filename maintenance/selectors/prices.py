"""Which price list is in force, and which were."""

from dataclasses import dataclass
from datetime import date

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from maintenance.models import PriceList


@dataclass(frozen=True, slots=True)
class ListedPrices:
    """One list, and until when it holds. until: the day the next one begins; None for the newest."""

    row: PriceList
    until: date | None
    is_in_force: bool
    is_coming: bool


def price_list_on(organisation: Organisation, on: date) -> PriceList | None:
    """The list in force on a day; of two that begin on one day the later written, None before the first.

    A list in another currency than the firm's is none: a firm that changes its currency writes its prices anew.
    """
    lists = PriceList.objects.of_organisation(organisation).filter(currency=organisation.currency)
    return lists.begun(on).first()


def price_lists(user: User, organisation: Organisation, today: date) -> list[ListedPrices]:
    """Every list, the newest first."""
    lists = PriceList.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    rows = list(lists.order_by("-valid_from", "-created_at", "-pk"))
    in_force = price_list_on(organisation, today)
    later = [None, *(row.valid_from for row in rows)]
    return [
        ListedPrices(row, until, row == in_force, row.valid_from > today)
        for row, until in zip(rows, later, strict=False)
    ]
