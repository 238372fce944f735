"""How a recorded fact leaves the count: replaced by a correction, or set aside. Never overwritten."""

from typing import TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.timezone import now

from accounts.models import User
from accounts.rows import Fact, store

F = TypeVar("F", bound=Fact)

NEEDS_REASON = "Say why. The reason stays readable beside the record."
ALREADY = "This record is already %(state)s. Open the newer one instead."


def sent_before(fact: F, **within: object) -> F | None:
    """The row that an earlier sending of the same device id stored, if there is one."""
    if not fact.device_id:
        return None
    return type(fact)._base_manager.filter(device_id=fact.device_id, **within).first()


def store_once(fact: F, **within: object) -> F:
    """Store a fact; where another process stored the same sending a moment ago, give its row instead."""
    try:
        with transaction.atomic():
            store(fact)
    except (IntegrityError, ValidationError):
        first = sent_before(fact, **within)
        if first is None:
            raise
        return first
    return fact


@transaction.atomic
def set_fact_aside(*, fact: F, by: User, reason: str) -> F:
    """Keep the record readable but out of results and forecasts."""
    return _leave(fact, Fact.State.SET_ASIDE, by, reason)


@transaction.atomic
def replace_fact(*, old: F, new: F, by: User, reason: str) -> F:
    """Store `new` in place of `old`; the old values stay readable for good."""
    _leave(old, Fact.State.REPLACED, by, reason)
    new.replaces = old
    new.recorded_by = by
    store(new)
    return new


def given_reason(reason: str) -> str:
    """The reason without blanks around it. Raises ValidationError where nothing is left."""
    if not reason.strip():
        raise ValidationError({"reason": NEEDS_REASON})
    return reason.strip()


def _leave(fact: F, state: str, by: User, reason: str) -> F:
    change = {"state": state, "state_reason": given_reason(reason), "state_by": by, "state_at": now()}
    # One conditional update: of two people correcting the same record at once, one is told.
    changed = type(fact)._base_manager.filter(pk=fact.pk, state=Fact.State.RECORDED).update(**change)
    if not changed:
        fact.refresh_from_db()
        raise ValidationError(ALREADY, params={"state": fact.get_state_display().lower()}, code="already")
    for name, value in change.items():
        setattr(fact, name, value)
    return fact
