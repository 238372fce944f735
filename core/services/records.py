"""How a recorded fact leaves the count: replaced by a correction, or set aside. Never overwritten."""

from typing import TypeVar

from django.contrib.auth.base_user import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.core.validators import ProhibitNullCharactersValidator
from django.db import IntegrityError, transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.audit import AuditState
from core.errors import AlreadyDoneError
from core.models.rows import AuditedRecord, OnceRow, validate_and_save

F = TypeVar("F", bound=AuditedRecord)
N = TypeVar("N", bound=OnceRow)

NEEDS_REASON = gettext_noop("Say why. The reason stays readable beside the record.")
ALREADY = gettext_noop("This record is already %(state)s. Open the newer one instead.")


def find_by_device_id(fact: N, **within: object) -> N | None:
    """The row that an earlier sending of the same device id stored, if there is one and this one is new."""
    if not (fact.device_id and fact._state.adding):
        return None
    return type(fact)._base_manager.filter(device_id=fact.device_id, **within).first()


def save_once(row: N, *fields: str, **within: object) -> N:
    """Store a new row unless an earlier sending did, which then is given; or the changes of a stored one.

    fields: the columns of a change, as `validate_and_save` takes them.
    """
    if row._state.adding:
        return find_by_device_id(row, **within) or save_idempotent(row, **within)
    validate_and_save(row, *fields)
    return row


def save_idempotent(fact: N, **within: object) -> N:
    """Store a fact; where another process stored the same sending a moment ago, give its row instead."""
    try:
        with transaction.atomic():
            validate_and_save(fact)
    except (IntegrityError, ValidationError):
        first = find_by_device_id(fact, **within)
        if first is None:
            raise
        return first
    return fact


@transaction.atomic
def void_record(*, fact: F, by: AbstractBaseUser, reason: str) -> F:
    """Keep the record readable but out of results and forecasts. Raises AlreadyDoneError for one that is."""
    return _leave(fact, AuditState.VOID, by, reason)


@transaction.atomic
def replace_record(*, old: F, new: F, by: AbstractBaseUser, reason: str) -> F:
    """Store `new` in place of `old`; the old values stay readable for good.

    Raises AlreadyDoneError where somebody replaced `old` or set it aside before.
    """
    _leave(old, AuditState.REPLACED, by, reason)
    new.replaces = old
    new.recorded_by = by  # type: ignore[assignment]  # core knows people only as whoever signs in
    validate_and_save(new)
    return new


def given_reason(reason: str) -> str:
    """The reason without blanks around it. Raises ValidationError where nothing is left."""
    if not reason.strip():
        raise ValidationError({"reason": _(NEEDS_REASON)})
    try:
        ProhibitNullCharactersValidator()(reason)
    except ValidationError as error:
        raise ValidationError({"reason": error.messages}) from error
    return reason.strip()


def _leave(fact: F, state: str, by: AbstractBaseUser, reason: str) -> F:
    change = {"state": state, "state_reason": given_reason(reason), "state_by": by, "state_at": now()}
    # One conditional update: of two people correcting the same record at once, one is told.
    changed = type(fact)._base_manager.filter(pk=fact.pk, state=AuditState.ACTIVE).update(**change)
    if not changed:
        fact.refresh_from_db()
        raise AlreadyDoneError(_(ALREADY) % {"state": fact.get_state_display().lower()})
    for name, value in change.items():
        setattr(fact, name, value)
    return fact
