"""Quotes from the draft to the answer: numbers, versions, who may say what, and what is refused."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine
from django.core.exceptions import PermissionDenied, ValidationError

from core.calc.paving import CleaningMethod
from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.models import Recommendation
from planning.calc.vocabulary import Answer, QuoteState
from planning.models import Quote, QuoteLine, QuoteVersion
from planning.services import quotes
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    OwnerPersonFactory,
    PriceListFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)
from tests.refusals import refused

pytestmark = pytest.mark.django_db
MONTH = timedelta(days=30)
UNTIL = TODAY + MONTH
CHANCE = "The chance that it drains less than its limit asks for is"


def advise(surface, action="clean", method="vacuum", reasons=("It clogs.",), **changes):
    given = {"due_on": TODAY, "earliest_on": TODAY, "currency": "EUR", "cost": Decimal(500)}
    return Recommendation.objects.create(
        surface=surface, action=action, method=method, grounds=Grounds(1, reasons), **given | changes
    )


@pytest.fixture
def office(firm):
    """A firm with a price list: 0.50 a m² by vacuum and 200 at least, 45 for a call-out, 19 % VAT to be added."""
    PriceListFactory(organisation=firm.organisation)
    return firm


def draft(office, *rows, **changes):
    given = {
        "recommendations": rows or [advise(office.surface)],
        "by": office.coordinator,
        "valid_until": UNTIL,
    }
    return quotes.quote_advice(**given | changes)


def sent(office, *rows):
    return quotes.send(version=draft(office, *rows), by=office.coordinator)


def answer(office, version, said=Answer.APPROVED, note="", by=None):
    return quotes.decide(version=version, by=by or office.owner_person, answer=said, note=note)


def state(version):
    return QuoteVersion.objects.get(pk=version.pk).state


def lines(version):
    return [(line.what, line.quantity, line.unit_price) for line in version.lines.all()]


def write_down(office, version, said=Answer.APPROVED, **changes):
    given = {"answered_by": "Anna Owner", "answered_on": TODAY, "note": "By phone"}
    return quotes.write_down(version=version, by=office.coordinator, answer=said, **given | changes)


def test_an_answer_on_paper_is_written_down_with_who_gave_it_who_wrote_it_and_its_day(office):
    stored = write_down(office, sent(office))

    stored.refresh_from_db()
    assert (stored.state, stored.decided_by, stored.answered_by) == (
        "approved",
        office.coordinator,
        "Anna Owner",
    )
    assert (stored.decided_on, stored.decision_note) == (TODAY, "By phone")
    assert stored.decider == f"Anna Owner (written down by {office.coordinator})"


def test_the_same_answer_written_down_twice_is_one_and_another_is_refused(office):
    version = sent(office)
    first = write_down(office, version)

    assert write_down(office, version).decided_at == first.decided_at
    with refused(AlreadyDoneError, "approved by Anna Owner", "That answer stands"):
        write_down(office, version, Answer.DECLINED)
    with refused(AlreadyDoneError, "approved by Anna Owner"):
        answer(office, version, Answer.DECLINED)


def test_an_answer_given_before_a_quote_ran_out_counts_when_it_is_written_down_later(office):
    version = sent(office)

    with time_machine.travel(UNTIL + timedelta(days=3), tick=False):
        with refused(NotAllowedNowError, "could be answered until"):
            write_down(office, version, answered_on=UNTIL + timedelta(days=1))
        assert write_down(office, version, answered_on=UNTIL).state == "approved"


@pytest.mark.parametrize(
    ("days", "said"), [(1, "is in the future"), (-1, "was sent on .* it cannot have been answered")]
)
def test_an_answer_has_a_day_between_the_sending_and_today(office, days, said):
    version = sent(office)

    with pytest.raises(ValidationError, match=said):
        write_down(office, version, answered_on=TODAY + timedelta(days=days))

    assert state(version) == "sent"


def test_no_answer_is_written_down_to_a_draft_or_to_what_was_withdrawn_or_replaced(office):
    version = draft(office)
    with refused(NotAllowedNowError, "was withdrawn"):
        write_down(office, version)
    quotes.send(version=version, by=office.coordinator)
    same = list(version.lines.all())
    newer = quotes.change(version=version, by=office.coordinator, valid_until=UNTIL, note="", lines=same)
    quotes.send(version=newer, by=office.coordinator)
    with refused(NotAllowedNowError, "was replaced by version 2"):
        write_down(office, version)


def test_who_answered_is_asked_for(office):
    with pytest.raises(ValidationError):
        write_down(office, sent(office), answered_by="x" * 121)


def test_an_answer_of_the_owners_own_people_keeps_its_day_at_the_firm(office):
    stored = answer(office, sent(office))

    assert (stored.decided_on, stored.answered_by, stored.decider) == (TODAY, "", str(office.owner_person))


def test_a_draft_takes_the_prices_in_force_and_adds_up(office):
    """1,000 m² at 0.50 and 45.00 of call-out are 545.00; 19 % are 103.55."""
    row = advise(office.surface)

    version = draft(office, row, note="Gladly.")

    assert lines(version) == [
        (f"Clean: vacuum sweeping, {office.surface}", Decimal(1000), Decimal("0.5")),
        (f"Travel and call-out, {office.site}", Decimal(1), Decimal(45)),
    ]
    assert (version.net, version.tax, version.total) == (
        Decimal("545.00"),
        Decimal("103.55"),
        Decimal("648.55"),
    )
    assert (version.version, version.state, version.note) == (1, QuoteState.DRAFT, "Gladly.")
    first = version.lines.first()
    assert (first.recommendation, first.surface, first.site) == (row, office.surface, office.site)
    assert (version.quote.owner, version.quote.made_by) == (office.owner, office.coordinator)


def test_prices_of_a_quote_stay_when_a_new_list_begins(office):
    version = draft(office)

    PriceListFactory(
        organisation=office.organisation, valid_from=TODAY, tax_percent=Decimal(7), call_out_price=99
    )

    version.refresh_from_db()
    assert (version.total, version.tax_percent) == (Decimal("648.55"), Decimal(19))


def test_prices_with_the_tax_in_them_are_the_total(office):
    PriceListFactory(organisation=office.organisation, valid_from=TODAY, prices_include_tax=True)

    version = draft(office)

    assert (version.total, version.tax, version.net) == (
        Decimal("545.00"),
        Decimal("87.02"),
        Decimal("457.98"),
    )


def test_a_refill_takes_the_material_of_the_last_one_by_its_share(office):
    """4,500 kg on half of 1,000 m² are 9 kg a m²."""
    CleaningFactory(
        surface=office.surface,
        method="joint_refill",
        material_in_kg=4500.0,
        share_of_area=0.5,
        currency="EUR",
    )

    version = draft(office, advise(office.surface, "rejoint", "joint_refill"))

    assert version.lines.get(unit="kg").quantity == Decimal("9000.00")


@pytest.mark.parametrize(
    ("reasons", "share_below", "why"),
    [
        (("It saves {money:450.00 EUR}.", "It drains {rate:254.0}."), None, "It drains 254 mm/h."),
        (
            ("It saves {money:450.00 EUR}.",),
            0.3,
            "The chance that it drains less than its limit asks for is 30\u00a0%.",
        ),
        (("It saves {money:450.00 EUR}.",), None, ""),
    ],
)
def test_an_owner_is_given_a_reason_that_weighs_no_money(office, reasons, share_below, why):
    row = advise(office.surface, reasons=reasons, share_below=share_below)

    assert draft(office, row).lines.first().why == why


def test_numbers_run_by_firm_and_year_without_gaps(office):
    with time_machine.travel("2025-12-31T12:00:00Z", tick=False):
        old = draft(office, advise(office.surface, "look", ""), valid_until=date(2026, 1, 31))
    first = draft(office)
    with refused(ValidationError, beside="valid_until"):
        draft(office, first.lines.first().recommendation, valid_until=TODAY - timedelta(days=1))
    second = draft(office, advise(office.surface, "test", ""))
    PriceListFactory(organisation=(other := SurfaceFactory()).site.organisation)
    elsewhere = quotes.quote_advice(recommendations=[advise(other)], by=UserFactory(), valid_until=UNTIL)

    assert [str(version.quote) for version in (old, first, second, elsewhere)] == [
        "Quote 2025-0001",
        f"Quote {TODAY.year}-0001",
        f"Quote {TODAY.year}-0002",
        f"Quote {TODAY.year}-0001",
    ]


def test_the_same_sending_makes_one_quote(office):
    row, once = advise(office.surface), uuid4()

    first, again = draft(office, row, device_id=once), draft(office, row, device_id=once)

    assert first == again
    assert Quote.objects.count() == 1


def test_a_quote_is_for_one_owner(office):
    other = SurfaceFactory(site=SiteFactory(owner__organisation=office.organisation))
    rows = [advise(office.surface), advise(other)]

    with refused(
        ValidationError, office.owner, other.site.owner, "tick the work of one owner", beside="advice"
    ):
        draft(office, *rows)


def test_two_sites_of_one_owner_are_on_one_quote(office):
    other = SurfaceFactory(site=SiteFactory(owner=office.owner, organisation=office.organisation))

    version = draft(office, advise(office.surface), advise(other))

    assert version.lines.filter(unit="call_out").count() == 2


def test_without_a_list_nothing_is_quoted(firm):
    row = advise(firm.surface)

    with refused(NotAllowedNowError, "no price list in force"):
        draft(firm, row)


def test_sending_shows_it_and_says_who_and_when(office):
    version = sent(office)

    assert (version.state, version.sent_by) == (QuoteState.SENT, office.coordinator)
    assert Quote.objects.get().first_sent_at == version.sent_at


def test_what_was_sent_is_not_sent_again(office):
    version = sent(office)

    with refused(AlreadyDoneError, "is sent"):
        quotes.send(version=version, by=office.coordinator)


def test_a_line_without_a_price_is_named_before_sending(office):
    version = draft(office, advise(office.surface, "source", ""))

    with refused(ValidationError, "Give the price of Find and stop the sediment"):
        quotes.send(version=version, by=office.coordinator)


def test_an_empty_quote_and_one_that_ran_out_are_not_sent(office):
    empty, late = QuoteVersionFactory(state="draft"), draft(office)

    with refused(ValidationError, "nothing on this quote"):
        quotes.send(version=empty, by=office.coordinator)
    with (
        time_machine.travel(UNTIL + timedelta(days=1), tick=False),
        refused(ValidationError, "is in the past", beside="valid_until"),
    ):
        quotes.send(version=late, by=office.coordinator)


def changed(office, version, *, price="0.60", **given):
    rows = list(version.lines.all())
    rows[0].unit_price = Decimal(price)
    usual = {"by": office.admin, "valid_until": UNTIL, "note": "", "lines": rows}
    return quotes.change(version=version, **usual | given)


def test_a_draft_is_changed_in_place(office):
    version = draft(office)

    stored = changed(
        office, version, removed=[version.lines.last()], lines=list(version.lines.all()[:1]), note="New"
    )

    assert stored == version
    assert (stored.note, stored.net, QuoteLine.objects.count()) == ("New", Decimal("500.00"), 1)


def test_a_change_of_what_was_sent_is_a_new_version_and_the_old_one_stays(office):
    old = sent(office)
    before = QuoteVersion.objects.filter(pk=old.pk).values().get(), lines(old)

    new = changed(office, old)

    assert (new.version, new.state, new.net) == (2, QuoteState.DRAFT, Decimal("645.00"))
    assert (QuoteVersion.objects.filter(pk=old.pk).values().get(), lines(old)) == before
    assert new.lines.first().recommendation == old.lines.first().recommendation
    assert new.quote == old.quote


def test_the_old_version_can_be_approved_until_the_new_one_is_sent(office):
    old = sent(office)
    new = changed(office, old)

    answer(office, old)

    assert state(old) == QuoteState.APPROVED
    with refused(NotAllowedNowError, f"{old} is approved"):
        quotes.send(version=new, by=office.coordinator)


def test_a_version_that_was_replaced_is_not_approved_and_the_newer_one_is_named(office):
    old = sent(office)
    new = quotes.send(version=changed(office, old), by=office.coordinator)

    with refused(NotAllowedNowError, f"{old} was replaced by version 2", "your note is kept"):
        answer(office, old, note="Fine.")

    assert (state(old), state(new)) == (QuoteState.REPLACED, QuoteState.SENT)


def test_an_approved_quote_is_final(office):
    version = answer(office, sent(office))

    with refused(NotAllowedNowError, "is approved and stands as it is"):
        changed(office, version)
    with refused(NotAllowedNowError, "Only a draft, or a quote that waits"):
        quotes.withdraw(version=version)


def test_only_the_newest_version_is_changed(office):
    old = sent(office)
    changed(office, old)

    with refused(NotAllowedNowError, "Version 2 is newer"):
        changed(office, old)


def test_a_declined_quote_can_be_offered_anew(office):
    old = answer(office, sent(office), Answer.DECLINED, "Too dear.")

    new = quotes.send(version=changed(office, old, price="0.40"), by=office.coordinator)

    assert (state(old), state(new)) == (QuoteState.DECLINED, QuoteState.SENT)


@pytest.mark.parametrize("said", list(Answer))
def test_the_answer_says_who_when_and_why(office, said):
    version = answer(office, sent(office), said, "  As agreed. ")

    assert (version.state, version.decided_by) == (said.value, office.owner_person)
    assert version.decision_note == "As agreed."
    assert version.decided_at is not None


def test_an_answer_leaves_the_advice_with_the_office(office):
    """An owner who declines a price has not said that the surface needs nothing: the office decides on the advice."""
    version = sent(office)

    answer(office, version, Answer.DECLINED, "Next year.")

    assert version.lines.first().recommendation.is_open


def test_the_same_answer_twice_is_stored_once_with_both_notes_and_another_is_refused(office):
    version = sent(office)
    first = answer(office, version, note="First")

    again = answer(office, version, note="Second")

    assert (again.decided_at, again.decision_note) == (first.decided_at, "First\n\nSecond")
    with refused(AlreadyDoneError, "was approved by", office.owner_person, "stands"):
        answer(office, version, Answer.DECLINED)


def test_the_answer_of_another_person_of_the_owner_does_not_undo_the_first(office):
    version = answer(office, sent(office))
    other = OwnerPersonFactory(owner=office.owner).user

    with refused(AlreadyDoneError, "That answer stands"):
        answer(office, version, Answer.DECLINED, by=other)


def test_nobody_but_the_owners_people_answers(office):
    version = sent(office)
    stranger = OwnerPersonFactory(owner__organisation=office.organisation).user

    for who in (office.admin, office.coordinator, office.outsider, stranger):
        with refused(PermissionDenied, "Only people who read for"):
            answer(office, version, by=who)


def test_what_has_run_out_is_not_approved(office):
    version = sent(office)

    with time_machine.travel(UNTIL, tick=False):
        assert version.state_on(UNTIL) is QuoteState.SENT
    with (
        time_machine.travel(UNTIL + timedelta(days=1), tick=False),
        refused(NotAllowedNowError, "could be answered until"),
    ):
        answer(office, version)
    assert version.state_on(UNTIL + timedelta(days=1)) is QuoteState.EXPIRED


def test_what_ran_out_can_be_offered_anew(office):
    version = sent(office)

    with time_machine.travel(UNTIL + timedelta(days=1), tick=False):
        new = quotes.send(version=changed(office, version, valid_until=UNTIL + MONTH), by=office.coordinator)

    assert (state(version), new.version) == (QuoteState.REPLACED, 2)


def test_a_quote_that_was_withdrawn_keeps_its_number_and_is_not_answered(office):
    version = quotes.withdraw(version=sent(office))
    next_one = draft(office, advise(office.surface, "test", ""))

    with refused(NotAllowedNowError, "was withdrawn by the firm"):
        answer(office, version)
    assert next_one.quote.number == version.quote.number + 1


def test_a_draft_is_not_answered(office):
    version = draft(office)

    with refused(NotAllowedNowError, "withdrawn by the firm"):
        answer(office, version)


def test_what_an_owners_person_reads_is_what_was_sent_to_their_owner(office):
    hidden, shown = draft(office), sent(office, advise(office.surface, "test", ""))
    QuoteLineFactory(version__quote__owner__organisation=office.organisation)  # of another owner

    seen = QuoteVersion.objects.for_user(office.owner_person)

    assert list(seen) == [shown]
    assert list(Quote.objects.for_user(office.owner_person)) == [shown.quote]
    assert set(QuoteLine.objects.for_user(office.owner_person)) == set(shown.lines.all())
    assert hidden in QuoteVersion.objects.for_user(office.viewer)


def test_a_quote_comes_to_the_same_whoever_of_the_firm_makes_it(office):
    """The list says how areas are counted: 929.0304 m² are 10,000 ft², at 0.25 a ft² 2,500."""
    type(office.surface).objects.filter(pk=office.surface.pk).update(area_m2=929.0304)
    methods = MethodPrices((MethodPrice(CleaningMethod.VACUUM, Decimal("2.6910"), Decimal(0)),))
    PriceListFactory(organisation=office.organisation, valid_from=TODAY, methods=methods, units="us")
    advice, made = advise(type(office.surface).objects.get(pk=office.surface.pk)), []

    for units in ("si", "us"):
        office.coordinator.units = units
        office.coordinator.save()
        made.append(draft(office, advice))

    for version in made:
        line = version.lines.get(surface=office.surface)
        assert (line.quantity, line.unit, line.unit_price) == (Decimal(10_000), "ft2", Decimal("0.25"))
    assert [version.net for version in made] == [Decimal(2545), Decimal(2545)]
