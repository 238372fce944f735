"""Storing a site's plan for winter and spills, and the trainings of its owner's people."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id, replace_record, save_once, void_record
from maintenance.models import SitePlan, Training
from qa.services.days import refuse_future

OR_LATER = gettext_noop("Enter the day on which people were trained.")
NOBODY = gettext_noop("Name at least one person who was trained, each on a line of their own: name, role.")
NOTHING = gettext_noop("Tick what was covered, or write it below.")


@transaction.atomic
def save_site_plan(*, plan: SitePlan, fields: tuple[str, ...]) -> SitePlan:
    """Store a site's plan, or the fields of a stored one. Raises ValidationError."""
    validate_and_save(plan, *fields)
    return plan


@transaction.atomic
def record_training(*, training: Training, by: User) -> Training:
    """Store a training. Raises ValidationError; a repeat with the same device id gives the first row."""
    _check(training)
    training.recorded_by = by
    return save_once(training, site=training.site_id)


@transaction.atomic
def correct_training(*, old: Training, new: Training, by: User, reason: str) -> Training:
    """Store the corrected training in place of the old one, which stays readable."""
    first = find_by_device_id(new, replaces=old)
    if first:
        return first
    new.site = old.site
    _check(new)
    return replace_record(old=old, new=new, by=by, reason=reason)


@transaction.atomic
def void_training(*, training: Training, by: User, reason: str) -> Training:
    """Keep a training out of documents, with the reason."""
    return void_record(fact=training, by=by, reason=reason)


def _check(training: Training) -> None:
    refuse_future(training.site, "trained_on", training.trained_on, _(OR_LATER))
    if not training.facts.people:
        raise ValidationError({"people": _(NOBODY)})
    if not training.facts.covered:
        raise ValidationError({"topics": _(NOTHING)})
