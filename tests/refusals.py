"""What a service refuses: in which words, and that nothing at all is stored then."""

from contextlib import contextmanager
from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from core.calc.format import day
from qa.models import Surface
from qa.services.changes import record_changed
from tests.clock import TODAY
from tests.sending import everything_stored

TOMORROW = TODAY + timedelta(days=1)
FAR_AHEAD = TODAY + timedelta(days=3)  # still to come wherever the site lies


def said(error):
    """Everything that an error says, field by field."""
    return " ".join(error.messages) if isinstance(error, ValidationError) else str(error)


@contextmanager
def refused(kind, *words, beside=None):
    """Within it something is refused: by this very error, in these words, beside this field; nothing is stored.

    Days among the words are looked for as people read them.
    """
    before = everything_stored()
    with pytest.raises(kind) as refusal:
        yield
    error = refusal.value
    assert type(error) is kind, f"{type(error).__name__}: {said(error)}"
    for word in words:
        assert (day(word) if isinstance(word, date) else str(word)) in said(error)
    if beside is not None:
        assert beside in error.message_dict
    assert everything_stored() == before


def version_of(surface):
    """How often its record has changed."""
    return Surface.objects.values_list("record_version", flat=True).get(pk=surface.pk)


@contextmanager
def nudges():
    """Ids of the surfaces whose record was said to have changed, in the order they were told."""
    told = []

    def listen(surface_id, **_):
        told.append(surface_id)

    record_changed.connect(listen)
    try:
        yield told
    finally:
        record_changed.disconnect(listen)
