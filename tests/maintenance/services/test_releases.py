"""What owners are shown of advice: as it was when the office released it, until the office says otherwise."""

from datetime import timedelta
from decimal import Decimal

import pytest

from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.calc.advice_payload import Grounds
from maintenance.models import AdviceRelease, Recommendation
from maintenance.services import recommendations, releases
from tests.clock import TODAY
from tests.factories import BECAUSE, UserFactory

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def advice_for(surface, **changes):
    values = {"action": "clean", "method": "vacuum", "due_on": TODAY, "earliest_on": TODAY}
    values |= {"currency": "EUR", "cost": Decimal("450.00"), "grounds": BECAUSE}
    return Recommendation.objects.create(surface=surface, **values | changes)


def released(row, by):
    (found,) = releases.release(recommendations=[row], by=by)
    return found


def shown_to(person):
    return list(AdviceRelease.objects.for_user(person))


def test_an_owner_sees_nothing_before_the_release_and_the_words_and_price_of_it_after(firm):
    row = advice_for(firm.surface, grounds=Grounds(1, ("It clogs.",)))
    before = shown_to(firm.owner_person)

    released(row, firm.coordinator)

    assert before == []
    (seen,) = shown_to(firm.owner_person)
    assert (seen.content.cost, seen.content.reasons) == (Decimal("450.00"), ("It clogs.",))
    assert (seen.released_by, seen.state) == (firm.coordinator, "standing")


def test_what_was_released_stays_as_it_was_when_the_advice_changes_and_the_office_is_told(firm):
    row = advice_for(firm.surface)
    first = released(row, firm.coordinator)
    row.cost, row.due_on = Decimal("520.00"), TODAY + 45 * DAY
    row.save()

    releases.note_changes(surface=firm.surface)

    first.refresh_from_db()
    assert first.content.cost == Decimal("450.00")
    assert [said.split(";")[0] for said in first.differs] == [
        "Its price is now {money:520.00 EUR}",
        f"It is now due by {{day:{(TODAY + 45 * DAY).isoformat()}}}",
    ]
    assert list(AdviceRelease.objects.changed()) == [first]


@pytest.mark.parametrize(
    "changes",
    [
        {"cost": Decimal("472.00")},
        {"due_on": TODAY + 30 * DAY},
        {"grounds": Grounds(2, ("In other words.",))},
    ],
)
def test_a_change_that_nobody_would_decide_otherwise_for_is_not_told(firm, changes):
    row = advice_for(firm.surface)
    released(row, firm.coordinator)
    for name, value in changes.items():
        setattr(row, name, value)
    row.save()

    releases.note_changes(surface=firm.surface)

    assert not AdviceRelease.objects.changed().exists()


def test_a_change_that_goes_back_is_no_change(firm):
    row = advice_for(firm.surface)
    first = released(row, firm.coordinator)
    for cost in ("900.00", "450.00"):
        Recommendation.objects.filter(pk=row.pk).update(cost=Decimal(cost))
        releases.note_changes(surface=firm.surface)

    first.refresh_from_db()
    assert (first.differs, first.differs_since) == ([], None)


def test_releasing_anew_replaces_what_was_shown_and_keeps_it_readable_to_the_firm(firm):
    row = advice_for(firm.surface)
    first = released(row, firm.coordinator)
    row.cost = Decimal("520.00")
    row.save()

    second = released(row, firm.admin)

    first.refresh_from_db()
    assert (first.state, first.ended_by, first.content.cost) == ("replaced", firm.admin, Decimal("450.00"))
    assert shown_to(firm.owner_person) == [second]
    assert set(AdviceRelease.objects.for_user(firm.viewer)) == {first, second}


def test_releasing_the_same_once_more_changes_nothing(firm):
    row = advice_for(firm.surface)

    assert released(row, firm.coordinator) == released(row, firm.admin)
    assert AdviceRelease.objects.count() == 1


def test_withdrawn_advice_is_gone_from_the_owner_and_keeps_who_and_why(firm):
    first = released(advice_for(firm.surface), firm.coordinator)

    releases.withdraw(release=first, by=firm.admin, reason="The price was wrong.")

    first.refresh_from_db()
    assert shown_to(firm.owner_person) == []
    assert (first.state, first.ended_by, first.end_reason) == (
        "withdrawn",
        firm.admin,
        "The price was wrong.",
    )


def test_what_was_ended_is_not_withdrawn_again(firm):
    first = released(advice_for(firm.surface), firm.coordinator)
    releases.withdraw(release=first, by=firm.admin, reason="Wrong.")

    with pytest.raises(AlreadyDoneError, match="ended already"):
        releases.withdraw(release=first, by=firm.admin, reason="Wrong.")


def test_declining_takes_it_from_the_owner(firm):
    row = advice_for(firm.surface)
    released(row, firm.coordinator)

    recommendations.decline(recommendation=row, by=firm.coordinator, reason="Rebuilt soon.")

    assert shown_to(firm.owner_person) == []
    assert row.releases.get().end_reason == "Declined: Rebuilt soon."


def test_overtaken_advice_stays_with_the_owner_and_the_office_is_told(firm):
    first = released(advice_for(firm.surface), firm.coordinator)

    recommendations.sync_recommendations(surface=firm.surface, advice=[])

    first.refresh_from_db()
    assert shown_to(firm.owner_person) == [first]
    assert first.differs == ["Newer facts no longer ask for it."]


def test_a_release_takes_the_place_of_overtaken_advice_to_the_same_question(firm):
    released(advice_for(firm.surface, status="open"), firm.coordinator)
    recommendations.sync_recommendations(surface=firm.surface, advice=[])

    newer = released(advice_for(firm.surface, action="rejoint", method="joint_refill"), firm.coordinator)

    assert shown_to(firm.owner_person) == [newer]


@pytest.mark.parametrize("status", ["done", "declined", "overtaken"])
def test_what_is_not_to_be_done_any_more_cannot_be_released(firm, status):
    row = advice_for(firm.surface, status=status)

    with pytest.raises(NotAllowedNowError, match="still to be done"):
        releases.release(recommendations=[row], by=UserFactory())


def test_several_are_released_all_or_none(firm):
    rows = [advice_for(firm.surface), advice_for(firm.surface, action="test", status="done")]

    with pytest.raises(NotAllowedNowError):
        releases.release(recommendations=rows, by=firm.coordinator)

    assert not AdviceRelease.objects.exists()


def test_done_advice_is_not_shown_any_more(firm):
    row = advice_for(firm.surface)
    released(row, firm.coordinator)

    recommendations.mark_done(recommendation_id=row.pk)

    assert shown_to(firm.owner_person) == []
