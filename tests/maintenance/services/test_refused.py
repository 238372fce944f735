"""What cleanings, prices, advice, trainings and plans refuse, and that nothing is stored then."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError
from maintenance.calc.site_plans import Topic, Trained, TrainingFacts
from maintenance.models import CleaningEvent, MethodTerms, Recommendation, SitePlan, Training
from maintenance.services import cleanings, handing_over, recommendations
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningAttachmentFactory,
    CleaningFactory,
    SitePlanFactory,
    TrainingFactory,
)
from tests.refusals import FAR_AHEAD, refused

DAY = date(2024, 7, 1)
WHY = "Another surface."
FACTS = TrainingFacts((Trained("Carla Caretaker", "caretaker"),), (Topic.WINTER,))


def event_of(surface, **fields):
    return CleaningEvent(surface=surface, **{"cleaned_on": DAY, "method": "vacuum"} | fields)


def record(firm, **fields):
    return cleanings.record_cleaning(event=event_of(firm.surface, **fields), by=firm.technician)


# ---- Cleanings -----------------------------------------------------------------------------------


def test_a_cleaning_of_a_day_to_come_is_to_be_planned(firm):
    with refused(ValidationError, FAR_AHEAD, "or plan a visit instead", beside="cleaned_on"):
        record(firm, cleaned_on=FAR_AHEAD)


def test_a_cleaning_before_the_opening_is_told_with_both_days(firm):
    opened = firm.surface.opened_on
    day = opened - timedelta(days=1)

    with refused(ValidationError, day, opened, beside="cleaned_on"):
        record(firm, cleaned_on=day)


@pytest.mark.parametrize(
    ("method", "given"),
    [
        ("vacuum", {"pressure_bar": 80.0}),
        ("broom", {"depth_out_mm": 20.0}),
        ("joint_refill", {"passes": 2}),
    ],
)
def test_what_the_way_of_cleaning_has_not_is_told_with_its_name(firm, method, given):
    ((field, _),) = given.items()
    label = CleaningEvent(method=method).get_method_display()

    with refused(ValidationError, label, "Empty it, or choose the way that was used", beside=field):
        record(firm, method=method, **given)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("share_of_area", 0.0),
        ("share_of_area", 1.01),
        ("material_out_kg", -1.0),
        ("passes", 0),
        ("depth_out_mm", 0.1),
        ("cost", Decimal("-0.01")),
        ("wetness", "icy"),
    ],
)
def test_an_entry_beyond_its_range_is_refused_beside_its_field(firm, field, value):
    with refused(ValidationError, beside=field):
        record(firm, **{field: value})


def test_a_correction_of_a_cleaning_is_held_to_the_same_rules(firm):
    old = CleaningFactory(surface=firm.surface)

    with refused(ValidationError, FAR_AHEAD, beside="cleaned_on"):
        new = event_of(firm.surface, cleaned_on=FAR_AHEAD)
        cleanings.correct_cleaning(old=old, new=new, by=firm.technician, reason=WHY)
    with refused(ValidationError, "Say why", beside="reason"):
        cleanings.correct_cleaning(old=old, new=event_of(firm.surface), by=firm.technician, reason=" ")


def test_a_cleaning_is_corrected_once_and_set_aside_once(firm):
    old = CleaningFactory(surface=firm.surface)
    second, third = (CleaningEvent.objects.get(pk=old.pk) for _ in range(2))
    new = cleanings.correct_cleaning(
        old=old, new=event_of(firm.surface, method="broom"), by=firm.technician, reason=WHY
    )

    with refused(AlreadyDoneError, "already replaced by a correction"):
        cleanings.correct_cleaning(old=second, new=event_of(firm.surface), by=firm.admin, reason="No.")
    with refused(AlreadyDoneError, "already replaced by a correction"):
        cleanings.void_cleaning(event=third, by=firm.admin, reason="No.")
    cleanings.void_cleaning(event=new, by=firm.technician, reason=WHY)
    with refused(AlreadyDoneError, "already set aside"):
        cleanings.void_cleaning(event=CleaningEvent.objects.get(pk=new.pk), by=firm.admin, reason="No.")


def test_a_correction_takes_the_photos_along_and_sent_twice_is_one(firm):
    old, key = CleaningFactory(surface=firm.surface), uuid4()
    photo = CleaningAttachmentFactory(cleaning=old)

    def correct():
        new = event_of(firm.surface, device_id=key)
        return cleanings.correct_cleaning(old=old, new=new, by=firm.technician, reason=WHY)

    first = correct()

    photo.refresh_from_db()
    assert photo.cleaning == first == correct()


def test_a_cleaning_is_kept_in_the_currency_of_its_firm_whatever_is_sent(firm):
    firm.organisation.currency = "CHF"
    firm.organisation.save()

    assert record(firm, currency="USD").currency == "CHF"


# ---- Prices --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "value"),
    [("cost_per_m2", Decimal("-0.01")), ("minimum_charge", Decimal("-1")), ("output_m2_h", 0.0)],
)
def test_a_bad_price_of_one_way_keeps_all_the_old_ones(firm, field, value):
    rows = list(cleanings.terms_of(firm.organisation).values())
    rows[0].cost_per_m2 = Decimal("9.99")
    setattr(rows[-1], field, value)

    with refused(ValidationError, beside=field):
        cleanings.save_terms(rows=rows)


def test_a_bad_price_of_a_visit_keeps_the_prices_of_the_ways_too(firm):
    rows = list(cleanings.terms_of(firm.organisation).values())
    rows[0].cost_per_m2 = Decimal("9.99")
    firm.organisation.test_visit_price = Decimal("-5")

    with refused(ValidationError, beside="test_visit_price"):
        cleanings.save_terms(rows=rows, organisation=firm.organisation)


def test_the_prices_of_a_firm_are_made_once_and_are_its_own(firm):
    first = cleanings.terms_of(firm.organisation)
    MethodTerms.objects.filter(pk=first["vacuum"].pk).update(cost_per_m2="7.77")

    again = cleanings.terms_of(firm.organisation)
    others = cleanings.terms_of(firm.outsider.memberships.get().organisation)

    assert {key: row.pk for key, row in again.items()} == {key: row.pk for key, row in first.items()}
    assert again["vacuum"].cost_per_m2 == Decimal("7.77")
    assert others["vacuum"].cost_per_m2 != Decimal("7.77")


# ---- Advice --------------------------------------------------------------------------------------


def advice_for(surface, **fields):
    values = {"action": "clean", "method": "vacuum", "due_on": TODAY, "earliest_on": TODAY}
    return Recommendation.objects.create(surface=surface, currency="EUR", grounds=BECAUSE, **values | fields)


@pytest.mark.parametrize("status", ["planned", "declined", "done", "overtaken"])
def test_advice_that_was_decided_is_not_declined_again(firm, status):
    row = advice_for(firm.surface)
    Recommendation.objects.filter(pk=row.pk).update(status=status)
    label = Recommendation(status=status).get_status_display().lower()

    with refused(AlreadyDoneError, f"already {label}. Reload the page to see the newest."):
        recommendations.decline(recommendation=row, by=firm.coordinator, reason="Next year.")


@pytest.mark.parametrize("reason", ["", " \n "])
def test_advice_is_declined_with_a_reason(firm, reason):
    row = advice_for(firm.surface)

    with refused(ValidationError, "Say why", beside="reason"):
        recommendations.decline(recommendation=row, by=firm.coordinator, reason=reason)


def test_dropping_planned_advice_leaves_what_is_done_or_declined(firm):
    rows = {
        status: advice_for(firm.surface, action=action, status=status)
        for status, action in (("planned", "clean"), ("done", "test"), ("declined", "look"))
    }

    recommendations.drop_planned(recommendation_ids=[None, *(row.pk for row in rows.values())])

    stored = {name: Recommendation.objects.get(pk=row.pk).status for name, row in rows.items()}
    assert stored == {"planned": "overtaken", "done": "done", "declined": "declined"}


# ---- Trainings and plans -------------------------------------------------------------------------


def training_of(site, **fields):
    values = {"trained_on": DAY, "trained_by": "Tom Trainer", "facts": FACTS}
    return Training(site=site, **values | fields)


def record_training(firm, **fields):
    return handing_over.record_training(training=training_of(firm.site, **fields), by=firm.technician)


@pytest.mark.parametrize(
    ("fields", "words", "beside"),
    [
        ({"trained_on": FAR_AHEAD}, "the day on which people were trained", "trained_on"),
        ({"facts": TrainingFacts((), (Topic.WINTER,))}, "at least one person", "people"),
        ({"facts": TrainingFacts(FACTS.people)}, "Tick what was covered", "topics"),
        ({"trained_by": ""}, "", "trained_by"),
    ],
)
def test_a_training_of_nobody_in_nothing_or_by_nobody_is_refused(firm, fields, words, beside):
    with refused(ValidationError, words, beside=beside):
        record_training(firm, **fields)


def test_a_training_in_something_of_its_own_alone_is_one(firm):
    stored = record_training(firm, facts=TrainingFacts(FACTS.people, (), ("The valve",)))

    assert Training.objects.get(pk=stored.pk).facts.covered == ("The valve",)


def test_a_training_sent_twice_is_stored_once(firm):
    key = uuid4()

    assert record_training(firm, device_id=key) == record_training(firm, device_id=key)
    assert Training.objects.count() == 1


def test_a_training_is_corrected_once_at_its_own_site_and_with_a_reason(firm):
    old = TrainingFactory(site=firm.site)
    second = Training.objects.get(pk=old.pk)
    elsewhere = TrainingFactory().site

    def correct(row, reason):
        new = training_of(elsewhere)
        return handing_over.correct_training(old=row, new=new, by=firm.technician, reason=reason)

    with refused(ValidationError, "Say why", beside="reason"):
        correct(old, "")
    assert correct(old, "A name was missing.").site == firm.site
    with refused(AlreadyDoneError, "already replaced by a correction"):
        correct(second, "Mine too.")


def test_a_training_is_set_aside_once_and_with_a_reason(firm):
    training = TrainingFactory(site=firm.site)
    second = Training.objects.get(pk=training.pk)

    with refused(ValidationError, "Say why", beside="reason"):
        handing_over.void_training(training=training, by=firm.technician, reason=" ")
    handing_over.void_training(training=training, by=firm.technician, reason=WHY)
    with refused(AlreadyDoneError, "already set aside"):
        handing_over.void_training(training=second, by=firm.admin, reason=WHY)
    assert list(Training.objects.active()) == []


@pytest.mark.parametrize("field", ["spread", "snow_stored", "spill_first", "spill_calls"])
def test_a_plan_leaves_nothing_out(firm, field):
    plan = SitePlanFactory(site=firm.site)
    setattr(plan, field, "")

    with refused(ValidationError, beside=field):
        handing_over.save_site_plan(plan=plan, fields=(field,))


def test_a_site_has_one_plan_and_a_change_writes_its_own_fields_alone(firm):
    plan = SitePlanFactory(site=firm.site)
    SitePlan.objects.filter(pk=plan.pk).update(clearing="Theirs, meanwhile.")
    plan.spread = "Salt, sparingly."

    handing_over.save_site_plan(plan=plan, fields=("spread",))

    stored = SitePlan.objects.get(site=firm.site)
    assert (stored.spread, stored.clearing) == ("Salt, sparingly.", "Theirs, meanwhile.")
    with refused(ValidationError, beside="site"):
        handing_over.save_site_plan(plan=SitePlanFactory.build(site=firm.site), fields=())
