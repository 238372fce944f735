"""Everything done to soil infiltration tests."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.errors import UnusableRecordError
from core.services.records import find_by_device_id, save_idempotent, void_record
from qa.calc.soil import SoilTestMethod
from qa.models import SoilTest
from qa.services.days import refuse_future

OF_TEST = gettext_noop("Enter the day of the test.")
NO_PIT = gettext_noop(
    "Enter the floor of the pit: water leaves through its sides too, which the rate allows for."
)


@transaction.atomic
def record_soil_test(*, test: SoilTest, by: User) -> SoilTest:
    """Store a soil test. Raises ValidationError; a repeat with the same device id gives the first row."""
    first = find_by_device_id(test, surface=test.surface_id)
    if first:
        return first
    _check(test)
    test.recorded_by = by
    return save_idempotent(test, surface=test.surface_id)


@transaction.atomic
def void_soil_test(*, test: SoilTest, by: User, reason: str) -> SoilTest:
    """Keep a soil test from counting, with the reason."""
    return void_record(fact=test, by=by, reason=reason)


def _check(test: SoilTest) -> None:
    refuse_future(test.surface.site, "tested_on", test.tested_on, _(OF_TEST))
    if test.method == SoilTestMethod.PIT:
        missing = [name for name in ("pit_length_mm", "pit_width_mm") if getattr(test, name) is None]
        if missing:
            raise ValidationError(dict.fromkeys(missing, _(NO_PIT)))
    try:
        _usable = test.result
    except UnusableRecordError as error:
        raise ValidationError(str(error), code="impossible_reading") from error
