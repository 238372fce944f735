"""Who may read what, as a table to be argued with."""

import pytest

from accounts.calc.audience import SEEN_BY, Audience, Matter

#                       firm, owner, link
TABLE = {
    "notes": (True, False, False),
    "access": (True, False, False),
    "set_aside_files": (True, False, False),
    "internal_reasons": (True, False, False),
    "data_quality": (True, False, False),
    "compared_prices": (True, False, False),
    "crews": (True, False, False),
    "visits": (True, True, False),
    "costs": (True, False, False),
    "message_mails": (True, False, False),
    "quotes": (True, True, False),
    "owners_people": (True, False, False),
    "prices": (True, True, False),
    "agreement": (True, True, False),
    "unreleased_advice": (True, False, False),
    "undecided_advice": (True, True, False),
    "comparison": (True, False, False),
    "people": (True, True, False),
    "set_aside_records": (True, True, False),
    "remarks": (True, True, False),
    "calculation": (True, True, False),
}


@pytest.mark.parametrize(("matter", "answers"), TABLE.items())
def test_each_matter_is_read_by_those_it_is_meant_for(matter, answers):
    seen = tuple(audience.sees(Matter(matter)) for audience in Audience)

    assert seen == answers


def test_every_matter_is_decided():
    assert set(SEEN_BY) == set(Matter)
    assert {matter.value for matter in Matter} == set(TABLE)


def test_what_may_not_be_read_is_replaced():
    assert Audience.FIRM.shown(Matter.NOTES, "gate sticks", "") == "gate sticks"
    assert Audience.OWNER.shown(Matter.NOTES, "gate sticks", "") == ""
