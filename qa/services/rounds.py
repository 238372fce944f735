"""Everything done to test rounds and infiltration tests."""

from dataclasses import replace
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.calc.bounds import Bound
from core.calc.format import day as day_words
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from core.errors import IncompleteRecordError, NotAllowedNowError, UnusableRecordError
from core.models.rows import validate_and_save
from core.services.records import (
    find_by_device_id,
    given_reason,
    replace_record,
    save_idempotent,
    void_record,
)
from core.services.uploads import NOTHING_SENT, Sent
from qa.calc.deviations import Deviation, bounding, voiding
from qa.calc.field_readings import FieldReadings
from qa.calc.field_tests import Outcome, evaluate_field_test
from qa.calc.ring import Ending, RingReading, evaluate_ring
from qa.calc.surprise import READ_LIKE_RING, surprise, surprise_words
from qa.models import InfiltrationTest, TestRound
from qa.services.changes import bump_record_version
from qa.services.days import refuse_future
from qa.services.expectations import expected_rate
from qa.services.files import attach

TESTS_WERE = gettext_noop("Enter the day the tests were made.")
OTHER_SURFACE = gettext_noop("Location %(label)s belongs to another surface. Choose one of this surface.")
WHERE = gettext_noop("Say where: choose a fixed location or describe the spot.")
LEFT_OUT = gettext_noop("This round was set aside. Start a new round, and record the tests there.")
BEFORE_OPENING = gettext_noop(
    "%(day)s is more than a month before the surface opened on %(opened)s. Check both dates."
)


@transaction.atomic
def record_round(*, round_: TestRound, by: User) -> TestRound:
    """Store a test round. Raises ValidationError; a repeat with the same device id gives the first row."""
    first = find_by_device_id(round_, surface=round_.surface_id)
    if first:
        return first
    refuse_bad_day(round_)
    round_.recorded_by = by
    return save_idempotent(round_, surface=round_.surface_id)


@transaction.atomic
def amend_round(*, round_: TestRound, reason: str) -> TestRound:
    """Correct day, purpose or weather; the old values stay readable in the round's history."""
    round_._change_reason = given_reason(reason)  # type: ignore[attr-defined]
    _refuse_left_out(round_)
    refuse_bad_day(round_)
    validate_and_save(round_)
    _judge_by_weather(round_)
    bump_record_version(round_.surface_id)
    return round_


def _judge_by_weather(round_: TestRound) -> None:
    """Whether the tests of the round are valid, now that its weather may be another."""
    tests = list(round_.tests.all())
    for test in tests:
        test.round = round_
        test.is_valid = not test.voided_by
    InfiltrationTest.objects.bulk_update(tests, ["is_valid"])


def _refuse_left_out(round_: TestRound) -> None:
    # Locked, so that nobody sets the round aside between this look and the end of the transaction.
    current = TestRound.objects.select_for_update().get(pk=round_.pk)
    if not current.is_active:
        raise NotAllowedNowError(_(LEFT_OUT))


def refuse_bad_day(round_: TestRound) -> None:
    """Raise ValidationError for a day to come, or long before the surface opened."""
    surface, day = round_.surface, round_.tested_on
    refuse_future(surface.site, "tested_on", day, _(TESTS_WERE))
    if (surface.opened_on - day).days > 31:
        params = {"day": day_words(day), "opened": day_words(surface.opened_on)}
        raise ValidationError({"tested_on": ValidationError(_(BEFORE_OPENING), params=params)})


@transaction.atomic
def record_test(*, test: InfiltrationTest, by: User, sent: Sent = NOTHING_SENT) -> InfiltrationTest:
    """Work out the rate and the deviations of a test and store it with its readings as taken, and its photos."""
    first = find_by_device_id(test, round=test.round_id)
    if first:
        return first
    _refuse_left_out(test.round)
    arrive(test, by)
    later = _number_by_time(test)
    evaluate(test)
    stored = save_idempotent(test, round=test.round_id)
    if stored is test:
        _move_on(later)
        if sent.files:  # else its look for an earlier sending would be asked for nothing
            attach(to=test, sent=sent, by=by)
    bump_record_version(test.round.surface_id)
    return stored


def arrive(test: InfiltrationTest, by: User) -> None:
    """Fill in who recorded a new test, and when it was made."""
    test.recorded_by, test.made_at = by, time_made(test)
    if test.finished_at is None and test.round.tested_on == test.round.surface.site.today():
        test.finished_at = test.made_at  # typed in without a stopwatch, as a rule right after the test


def time_made(test: InfiltrationTest) -> datetime:
    """When a test was made: as the device tells it; a clock that runs ahead of ours tells nothing."""
    told, arrived = test.finished_at or test.made_at, now()
    return told if told and told <= arrived else arrived


def _number_by_time(test: InfiltrationTest) -> list[InfiltrationTest]:
    """Give the test its number at the spot; returns those made after it that arrived before it."""
    there = list(_same_spot(test))
    later = [each for each in there if each.made_at > test.made_at]
    test.sequence = 1 + len(there) - len(later)
    return later


def _move_on(later: list[InfiltrationTest], by_how_many: int = 1) -> None:
    """Number anew what an earlier test came before or left, with what that changes: the readings stay as taken."""
    for test in later:
        test.sequence += by_how_many
        evaluate(test)
        test.save(update_fields=["sequence", "bound", "deviations_json", "is_valid"])


def _close_gap(gone: InfiltrationTest) -> None:
    """Number anew what a test that left the spot came before."""
    _move_on([each for each in _same_spot(gone) if each.sequence > gone.sequence], by_how_many=-1)


def foreseen_loss(test: InfiltrationTest) -> tuple[Deviation, ...]:
    """Deviations of a test not stored yet that would void it or make it a bound: it can still be done again.

    Raises ValidationError on impossible readings. The weather is not among them: it was told with the round.
    """
    if find_by_device_id(test, round=test.round_id):
        return ()
    test.made_at = time_made(test)
    _number_by_time(test)
    evaluate(test)
    return (*voiding(test.deviations), *bounding(test.deviations))


def foreseen_surprise(test: InfiltrationTest) -> str:
    """What is odd about the result of a test not stored yet, in the units it was taken in; empty where nothing is."""
    if test.method not in READ_LIKE_RING or find_by_device_id(test, round=test.round_id):
        return ""
    expected = expected_rate(test.round.surface, test.round.tested_on)
    if expected is None or test.rate_mm_h is None:
        return ""
    way = surprise(test.rate_mm_h, Bound(test.bound), expected)
    return surprise_words(test.rate_mm_h, way, expected, UnitSystem(test.unit_system)) if way else ""


@transaction.atomic
def correct_test(
    *, old: InfiltrationTest, new: InfiltrationTest, by: User, reason: str, sent: Sent = NOTHING_SENT
) -> InfiltrationTest:
    """Store the corrected readings in place of the old ones, which stay readable.

    A test that was made elsewhere is numbered at its own spot, and so are those from whose spot it goes.
    """
    _refuse_left_out(old.round)
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    new.round, new.method, new.sequence = old.round, old.method, old.sequence
    new.made_at = old.made_at
    later = [] if _spot_of(new) == _spot_of(old) else _number_by_time(new)
    evaluate(new)
    replace_record(old=old, new=new, by=by, reason=reason)
    if _spot_of(new) != _spot_of(old):
        _move_on(later)
        _close_gap(old)
    old.attachments.update(test=new)  # they show the test as it is now written
    attach(to=new, sent=sent, by=by)
    _judge_repeats(new)
    bump_record_version(old.round.surface_id)
    return new


def _judge_repeats(first: InfiltrationTest) -> None:
    """What follows for repeats without prewetting from a first test that was corrected: it chooses their mass."""
    if not first.is_ring:
        return
    for test in _same_spot(first).filter(rewetted=False, sequence__gt=1).exclude(pk=first.pk):
        evaluate(test)
        test.save(update_fields=["bound", "deviations_json", "is_valid"])


@transaction.atomic
def void_test(*, test: InfiltrationTest, by: User, reason: str) -> InfiltrationTest:
    """Keep a test out of results and forecasts, with the reason; those after it at its spot are numbered anew."""
    void_record(fact=test, by=by, reason=reason)
    _close_gap(test)
    bump_record_version(test.round.surface_id)
    return test


@transaction.atomic
def void_round(*, round_: TestRound, by: User, reason: str) -> TestRound:
    """Keep a whole round out of results and forecasts, with the reason."""
    void_record(fact=round_, by=by, reason=reason)
    bump_record_version(round_.surface_id)
    return round_


def evaluate(test: InfiltrationTest) -> None:
    """Fill in rate, bound, deviations and validity from the readings. Raises ValidationError on impossible ones."""
    if test.location and test.location.surface_id != test.round.surface_id:
        raise ValidationError(
            {"location": ValidationError(_(OTHER_SURFACE), params={"label": test.location.label})}
        )
    if not test.location and not test.spot.strip():
        raise ValidationError({"location": _(WHERE)})
    try:
        outcome = _ring_outcome(test) if test.is_ring else _field_outcome(test)
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="impossible_reading") from error
    test.rate_mm_h, test.bound = outcome.rate_mm_h, outcome.bound.value
    test.own_value, test.own_unit = outcome.own_value, outcome.own_unit
    test.deviations = outcome.deviations
    test.is_valid = not test.voided_by


def _ring_outcome(test: InfiltrationTest) -> Outcome:
    _refuse_missing_ring_readings(test)
    result = evaluate_ring(reading_of(test))
    return Outcome(result.rate_mm_h, result.bound, deviations=result.deviations)


def _refuse_missing_ring_readings(test: InfiltrationTest) -> None:
    needed = {
        gettext_noop("Test mass"): test.test_mass,
        gettext_noop("Ring diameter"): test.ring_diameter,
        gettext_noop("Elapsed time"): test.elapsed_s,
    }
    for name, value in needed.items():
        if value is None:
            raise IncompleteRecordError(
                _("{entry} is missing. Enter it as it was read.").format(entry=_(name))
            )


def _field_outcome(test: InfiltrationTest) -> Outcome:
    method = TestMethod(test.method)
    if method is TestMethod.SPREADING_AREA:
        test.readings = _with_reference(test)
    system, ended = UnitSystem(test.unit_system), Ending(test.ended)
    return evaluate_field_test(method, test.readings, system, ended, leak_seen=test.leak_seen)


def _with_reference(test: InfiltrationTest) -> FieldReadings:
    """What was read, beside what the spot showed before."""
    read = test.readings
    return replace(read, once={**read.once, "reference": earlier_spread(test)})


def earlier_spread(test: InfiltrationTest) -> float | None:
    """The first spread recorded at the same fixed location before this test, in m²/L."""
    if not test.location:
        return None
    earlier = (
        InfiltrationTest.objects.in_active_rounds()
        .valid()
        .filter(
            method=TestMethod.SPREADING_AREA,
            location=test.location,
            round__tested_on__lt=test.round.tested_on,
        )
    )
    return earlier.order_by("round__tested_on", "made_at").values_list("own_value", flat=True).first()


def reading_of(test: InfiltrationTest) -> RingReading:
    """The stored readings as the formula takes them, in their own units."""
    return RingReading(
        system=UnitSystem(test.unit_system),
        prewet_mass=test.prewet_mass,
        prewet_time_s=test.prewet_time_s,
        start_delay_s=test.start_delay_s,
        test_mass=test.test_mass or 0.0,
        ring_diameter=test.ring_diameter or 0.0,
        elapsed_s=test.elapsed_s or 0.0,
        ending=Ending(test.ended),
        sequence=test.sequence,
        minutes_since_first=test.minutes_since_first,
        rewetted=test.rewetted,
        leak_seen=test.leak_seen,
        first_prewet_time_s=_first_prewet_time_s(test),
    )


def _first_prewet_time_s(test: InfiltrationTest) -> float | None:
    """Prewet time of the first test at the spot in this round: it chooses the mass of a repeat without prewetting."""
    if test.rewetted or test.prewet_time_s is not None or test.sequence == 1:
        return None
    before = _same_spot(test).exclude(pk=test.pk).filter(prewet_time_s__isnull=False)
    return before.order_by("sequence").values_list("prewet_time_s", flat=True).first()


def _spot_of(test: InfiltrationTest) -> tuple[UUID | None, str]:
    return (test.location_id, "" if test.location_id else test.spot)


def _same_spot(test: InfiltrationTest) -> QuerySet[InfiltrationTest]:
    same = InfiltrationTest.objects.active().filter(round=test.round, method=test.method)
    return (
        same.filter(location=test.location) if test.location else same.filter(location=None, spot=test.spot)
    )
