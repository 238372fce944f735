"""Facts are replaced or set aside, never overwritten."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError
from core.services.records import find_by_device_id, replace_record, save_idempotent, void_record
from maintenance.models import CleaningEvent
from tests.factories import CleaningFactory, UserFactory

pytestmark = pytest.mark.django_db


def correction_of(event, **changes):
    values = {"surface": event.surface, "cleaned_on": event.cleaned_on, "method": "broom", "currency": "EUR"}
    return CleaningEvent(**values | changes)


def test_a_fact_set_aside_keeps_who_why_and_when():
    event, user = CleaningFactory(), UserFactory()

    void_record(fact=event, by=user, reason=" Wrong surface. ")

    event.refresh_from_db()
    assert not event.is_active
    assert (event.state, event.state_reason, event.state_by) == ("void", "Wrong surface.", user)
    assert event.state_at is not None


def test_a_correction_leaves_the_old_values_readable():
    old = CleaningFactory(method="vacuum")

    new = replace_record(old=old, new=correction_of(old), by=UserFactory(), reason="It was the broom.")

    old.refresh_from_db()
    assert (old.method, old.state, old.is_active) == ("vacuum", "replaced", False)
    assert (new.replaces, old.replaced_by, new.is_active) == (old, new, True)


@pytest.mark.parametrize("reason", ["", "   "])
def test_no_fact_leaves_without_a_reason(reason):
    event = CleaningFactory()

    with pytest.raises(ValidationError) as refusal:
        void_record(fact=event, by=UserFactory(), reason=reason)

    assert "reason" in refusal.value.error_dict
    event.refresh_from_db()
    assert event.is_active


def test_of_two_people_correcting_the_same_record_one_is_told():
    """Both opened the page before either saved: each holds a copy that still counts."""
    event = CleaningFactory()
    first, second = (CleaningEvent.objects.get(pk=event.pk) for _ in range(2))
    replace_record(old=first, new=correction_of(event), by=UserFactory(), reason="Broom.")

    with pytest.raises(AlreadyDoneError, match="already replaced by a correction"):
        replace_record(old=second, new=correction_of(event), by=UserFactory(), reason="Broom!")

    assert CleaningEvent.objects.filter(replaces=event).count() == 1


def test_a_correction_that_breaks_a_rule_leaves_the_old_record_counting():
    old = CleaningFactory()
    impossible = correction_of(old, share_of_area=1.5)

    with pytest.raises(ValidationError):
        replace_record(old=old, new=impossible, by=UserFactory(), reason="More of it.")

    old.refresh_from_db()
    assert old.is_active
    assert CleaningEvent.objects.count() == 1


def test_a_sending_stored_by_another_process_gives_its_row():
    """The look before found nothing; the other process stored in between."""
    stored = CleaningFactory(device_id=uuid4())
    late = correction_of(stored, device_id=stored.device_id)

    given = save_idempotent(late, surface=stored.surface_id)

    assert given == stored
    assert CleaningEvent.objects.count() == 1


def test_a_device_id_of_another_surface_is_not_taken_for_the_same_sending():
    stored = CleaningFactory(device_id=uuid4())
    other = correction_of(CleaningFactory(), device_id=stored.device_id)

    with pytest.raises(ValidationError):
        save_idempotent(other, surface=other.surface_id)


def test_facts_without_a_device_id_are_never_the_same_sending():
    event = CleaningFactory()

    assert find_by_device_id(correction_of(event), surface=event.surface_id) is None
