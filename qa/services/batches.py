"""Recording rounds and tests by the thousand, each as `qa.services.rounds` records one."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from simple_history.utils import bulk_create_with_history

from accounts.models import User
from core.calc.paving import TestMethod
from core.errors import NotAllowedNowError
from qa.models import InfiltrationTest, TestRound
from qa.services.changes import bump_record_version
from qa.services.rounds import LEFT_OUT, arrive, evaluate, record_test, refuse_bad_day, time_made

T = TypeVar("T")
Refusals = dict[UUID, ValidationError | NotAllowedNowError]
AT_ONCE = 500  # far below what SQLite takes of values in one statement
# Other rows are found to exist by what is asked of the rounds and places; every rule of a column is checked.
_LINKS = ("surface", "round", "location", "recorded_by", "state_by", "replaces")


@transaction.atomic
def record_rounds(*, rounds: Sequence[TestRound], by: User) -> Refusals:
    """Store many new test rounds; returns what was refused, by the id of the round. The others are stored."""
    refused: Refusals = {}
    for round_ in rounds:
        round_.recorded_by = by
        try:
            refuse_bad_day(round_)
            round_.clean_fields(exclude=_LINKS)
        except ValidationError as error:
            refused[round_.pk] = error
    ready = [round_ for round_ in rounds if round_.pk not in refused]
    bulk_create_with_history(ready, TestRound, batch_size=AT_ONCE, default_user=by)
    return refused


@transaction.atomic
def record_tests(*, tests: Sequence[InfiltrationTest], by: User) -> Refusals:
    """Work out and store many new tests; returns what was refused, by the id of the test. The others are stored.

    Tests that stand alone are stored together; those that rest on others at their spot one by one after them.
    """
    counted = _tests_there(tests)
    active = _active_rounds(tests)
    refused: Refusals = {t.pk: NotAllowedNowError(LEFT_OUT) for t in tests if t.round_id not in active}
    alone = [t for t in tests if t.pk not in refused and not _rests_on_others(t, counted)]
    ready = [t for t in sorted(alone, key=time_made) if _fill_in(t, by, counted, refused)]
    InfiltrationTest.objects.bulk_create(ready, batch_size=AT_ONCE)
    done = {t.pk for t in alone}
    others = [t for t in tests if t.pk not in refused and t.pk not in done]
    for test in sorted(others, key=lambda t: (t.round.tested_on, time_made(t))):
        _record_alone(test, by, refused)
    for surface_id in {t.round.surface_id for t in ready}:
        bump_record_version(surface_id)
    return refused


def _spot(test: InfiltrationTest) -> tuple[object, ...]:
    return (test.round_id, test.method, test.location_id, "" if test.location_id else test.spot)


def in_pieces(values: Sequence[T]) -> Iterator[Sequence[T]]:
    """The values in as many at a time as a statement takes."""
    for start in range(0, len(values), AT_ONCE):
        yield values[start : start + AT_ONCE]


def _tests_there(tests: Sequence[InfiltrationTest]) -> Counter[tuple[object, ...]]:
    """How many active tests are stored at each spot of the rounds."""
    found: Counter[tuple[object, ...]] = Counter()
    for piece in in_pieces(list({t.round_id for t in tests})):
        found.update(_spot(t) for t in InfiltrationTest.objects.active().filter(round__in=piece))
    return found


def _active_rounds(tests: Sequence[InfiltrationTest]) -> set[UUID]:
    found: set[UUID] = set()
    for piece in in_pieces(list({t.round_id for t in tests})):
        rows = TestRound.objects.select_for_update().active().filter(pk__in=piece)
        found.update(rows.values_list("pk", flat=True))
    return found


def _rests_on_others(test: InfiltrationTest, counted: Mapping[tuple[object, ...], int]) -> bool:
    repeat = test.is_ring and not test.rewetted
    return repeat or test.method == TestMethod.SPREADING_AREA or counted.get(_spot(test), 0) > 0


def _fill_in(
    test: InfiltrationTest, by: User, counted: Counter[tuple[object, ...]], refused: Refusals
) -> bool:
    """Everything that is worked out of a test; False where it is refused."""
    arrive(test, by)
    test.sequence = counted[_spot(test)] + 1
    try:
        evaluate(test)
        test.clean_fields(exclude=_LINKS)
    except ValidationError as error:
        refused[test.pk] = error
        return False
    counted[_spot(test)] += 1
    return True


def _record_alone(test: InfiltrationTest, by: User, refused: Refusals) -> None:
    try:
        record_test(test=test, by=by)
    except (ValidationError, NotAllowedNowError) as error:
        refused[test.pk] = error
